/* SPDX-License-Identifier: MIT */
/*
 * What can happen to the application: the only way in which the world reaches it.
 */
#ifndef PERMILLE_TUI_EVENT_H
#define PERMILLE_TUI_EVENT_H

#include "key.h"

enum pm_event_kind {
    PM_EVENT_NONE,   /* the timeout passed, nothing happened */
    PM_EVENT_KEY,    /* key */
    PM_EVENT_CLICK,  /* rows, columns: where, from 0 */
    PM_EVENT_WHEEL,  /* rows: -1 up, 1 down */
    PM_EVENT_PASTE,  /* text: valid UTF-8 without control characters but '\n' and '\t' */
    PM_EVENT_RESIZE, /* rows, columns; also after the terminal came back from elsewhere */
    PM_EVENT_STOP,   /* somebody asks to suspend (SIGTSTP) */
    PM_EVENT_END     /* SIGTERM, SIGHUP, SIGINT, or the terminal is gone: signal */
};

struct pm_event {
    enum pm_event_kind kind;
    struct pm_key key;
    const char *text; /* borrowed until the next event is fetched */
    int rows, columns;
    int signal;
};

#endif
