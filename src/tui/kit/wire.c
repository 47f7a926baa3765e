/* SPDX-License-Identifier: MIT */
/* Bytes to the terminal (wire.h). */
#include "wire.h"

#include <errno.h>
#include <poll.h>
#include <unistd.h>

void pm_wire_send(const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t sent = write(STDOUT_FILENO, bytes, length);
        if (sent < 0 && errno == EAGAIN) {
            struct pollfd room = {.fd = STDOUT_FILENO, .events = POLLOUT};
            poll(&room, 1, -1);
            continue;
        }
        if (sent < 0 && errno == EINTR)
            continue;
        if (sent <= 0)
            return;
        bytes += sent;
        length -= (size_t)sent;
    }
}

void pm_wire_flush(struct pm_wire *wire)
{
    pm_wire_send(wire->bytes, wire->length);
    wire->length = 0;
}

void pm_wire_byte(struct pm_wire *wire, char byte)
{
    if (wire->length == sizeof wire->bytes)
        pm_wire_flush(wire);
    wire->bytes[wire->length++] = byte;
}

void pm_wire_bytes(struct pm_wire *wire, const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++)
        pm_wire_byte(wire, bytes[i]);
}
