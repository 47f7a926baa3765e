/* SPDX-License-Identifier: MIT */
/* A balance that sends what it shows: lines of text from a file, a pipe or a serial device. */
#include "permille/studio/scale.h"

#include "permille/base/mem.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#define TAKES_MOST 64 /* of one look: whoever sends without end does not hold it up */

struct pm_balance_port {
    int fd;
    bool file; /* a plain file: its end is no unplugged cable */
    bool gone; /* it was seen that nothing comes any more */
    struct pm_steady steady;
};

/* As it comes: no echo, no line editing. The speed stays what it is set to. */
static void take_raw(int fd)
{
    struct termios is;
    if (!isatty(fd) || tcgetattr(fd, &is) != 0)
        return;
    is.c_iflag &= ~(tcflag_t)(BRKINT | ICRNL | INPCK | ISTRIP | IXON);
    is.c_lflag &= ~(tcflag_t)(ECHO | ICANON | IEXTEN | ISIG);
    is.c_cflag |= CREAD | CLOCAL;
    tcsetattr(fd, TCSANOW, &is);
}

enum pm_status pm_balance_port_open(const char *path, struct pm_balance_port **out,
                                    struct pm_error *err)
{
    struct pm_balance_port *port = pm_alloc_array(1, sizeof *port);
    if (port == NULL)
        return pm_fail_memory(err);
    /* Not to wait for whoever writes into a pipe, nor to become the terminal's owner. */
    port->fd = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (port->fd < 0) {
        pm_free(port);
        return pm_fail(err, PM_IO, "The balance at %.200s cannot be read: %s.", path,
                       strerror(errno));
    }
    struct stat what;
    port->file = fstat(port->fd, &what) == 0 && S_ISREG(what.st_mode);
    take_raw(port->fd);
    *out = port;
    return PM_OK;
}

void pm_balance_port_close(struct pm_balance_port *port)
{
    if (port == NULL)
        return;
    close(port->fd);
    pm_free(port);
}

void pm_balance_port_again(struct pm_balance_port *port)
{
    pm_steady_again(&port->steady);
}

static enum pm_status gone(struct pm_error *err)
{
    return pm_fail(err, PM_MISSING,
                   "The balance sends nothing any more: is it unplugged? What "
                   "was poured so far is saved.");
}

/* What has come by now. *more: something may be behind it. */
static enum pm_status take(struct pm_balance_port *port, bool *more, struct pm_error *err)
{
    char bytes[512];
    const ssize_t count = read(port->fd, bytes, sizeof bytes);
    *more = count > 0;
    if (count > 0)
        return pm_steady_feed(&port->steady, bytes, (size_t)count, err);
    if (count < 0 && (errno == EAGAIN || errno == EINTR))
        return PM_OK;
    return gone(err);
}

enum pm_status pm_balance_port_read(struct pm_balance_port *port, int wait_ms, bool *stable,
                                    pm_mass *mass, struct pm_error *err)
{
    struct pollfd wait = {.fd = port->fd, .events = POLLIN};
    enum pm_status status = PM_OK;
    const bool was_gone = port->gone;
    bool more = poll(&wait, 1, wait_ms) > 0;
    /* All that has come: what was steady may have jumped since. */
    for (int takes = 0; more && status == PM_OK && takes < TAKES_MOST; takes++)
        status = take(port, &more, err);
    port->gone = status == PM_MISSING;
    *stable = port->steady.stable;
    *mass = port->steady.mass;
    /* What came before the end counts, once; a file goes on saying it. */
    if (status != PM_OK && !(status == PM_MISSING && *stable && (port->file || !was_gone)))
        return status;
    if (*stable && *mass < 0)
        return pm_fail(err, PM_REFUSED, "The balance shows less than nothing: tare it.");
    return PM_OK;
}
