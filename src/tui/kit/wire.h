/* SPDX-License-Identifier: MIT */
/*
 * Bytes to the terminal, a frame at once: what writes in pieces is seen in pieces.
 */
#ifndef PERMILLE_TUI_WIRE_H
#define PERMILLE_TUI_WIRE_H

#include <stddef.h>

#define PM_WIRE_BYTES 65536 /* one frame; a fuller one is sent in two */

struct pm_wire {
    char bytes[PM_WIRE_BYTES];
    size_t length;
};

void pm_wire_byte(struct pm_wire *wire, char byte);
void pm_wire_bytes(struct pm_wire *wire, const char *bytes, size_t length);
/* Sends what has gathered. */
void pm_wire_flush(struct pm_wire *wire);
/* Sends these bytes now, however long the terminal takes; a terminal that is gone loses them. */
void pm_wire_send(const char *bytes, size_t length);

#endif
