/* SPDX-License-Identifier: MIT */
/* The terminal's rescue. */
#include "rescue.h"

#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const int crashes[] = {
    SIGSEGV,   SIGBUS,  SIGILL,  SIGFPE,    SIGABRT, SIGQUIT,
    SIGSYS,    SIGTRAP, SIGPIPE, SIGVTALRM, SIGPROF, SIGIO,
#ifdef SIGPWR
    SIGPWR,
#endif
#ifdef SIGSTKFLT
    SIGSTKFLT,
#endif
};
#define CRASHES (sizeof crashes / sizeof *crashes)

/* A signal handler has no other way to know how the terminal was. */
static struct {
    volatile sig_atomic_t armed;
    struct termios modes;
    char bytes[PM_RESCUE_BYTES];
    size_t length;
    struct sigaction old[CRASHES];
} rescue;

static void rescue_now(void)
{
    if (!rescue.armed)
        return;
    rescue.armed = 0;
    ssize_t ignored = write(STDOUT_FILENO, rescue.bytes, rescue.length);
    (void)ignored;
    tcsetattr(STDIN_FILENO, TCSANOW, &rescue.modes);
}

static void on_crash(int number, siginfo_t *info, void *context)
{
    (void)context;
    rescue_now();
    for (size_t i = 0; i < CRASHES; i++)
        if (crashes[i] == number)
            sigaction(number, &rescue.old[i], NULL);
    /* A fault strikes again by itself when this returns; a sent signal must be sent again. */
    if (info->si_code <= 0)
        raise(number);
}

void pm_rescue_arm(const struct termios *modes, const char *bytes, size_t length)
{
    static bool at_exit;
    rescue.modes = *modes;
    rescue.length = length < PM_RESCUE_BYTES ? length : PM_RESCUE_BYTES;
    memcpy(rescue.bytes, bytes, rescue.length);
    rescue.armed = 1;
    struct sigaction action = {.sa_sigaction = on_crash, .sa_flags = SA_SIGINFO | SA_ONSTACK};
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < CRASHES; i++)
        sigaction(crashes[i], &action, &rescue.old[i]);
    if (!at_exit)
        at_exit = atexit(rescue_now) == 0;
}

void pm_rescue_pause(void)
{
    rescue.armed = 0;
}

void pm_rescue_resume(void)
{
    rescue.armed = 1;
}

void pm_rescue_disarm(void)
{
    rescue.armed = 0;
    for (size_t i = 0; i < CRASHES; i++)
        sigaction(crashes[i], &rescue.old[i], NULL);
}
