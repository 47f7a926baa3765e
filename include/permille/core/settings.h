/* SPDX-License-Identifier: MIT */
/*
 * Settings: what a person chose once so as not to be asked again, described in one table. The
 * command `settings`, the Settings room, the file of the machine's settings and the manual follow
 * from it; whatever asks for such a value begins with the setting.
 *
 * A setting is a text, kept as it reads back ("1000", "core", "0, 5 min, 1 h"). Those of the work
 * lie in the library and go with it; those of the machine lie in a file of the person's
 * configuration folder (studio/settings.h).
 */
#ifndef PERMILLE_CORE_SETTINGS_H
#define PERMILLE_CORE_SETTINGS_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/core/trial.h"

#include <stdbool.h>

enum pm_setting_number {
    PM_SETTING_BASE,
    PM_SETTING_MODE,
    PM_SETTING_DECIMALS,
    PM_SETTING_BATCH,
    PM_SETTING_BALANCE,
    PM_SETTING_WEIGH_WITHIN,
    PM_SETTING_WEIGH_ORDER,
    PM_SETTING_CURRENCY,
    PM_SETTING_SMELL_TIMES,
    PM_SETTING_THEME,
    PM_SETTING_CLIPBOARD,
    PM_SETTING_LINEAR,
    PM_SETTING_MOUSE,
    PM_SETTING_KEYS,
    PM_SETTINGS
};

enum pm_setting_place {
    PM_SETTING_WORK,   /* in the library */
    PM_SETTING_MACHINE /* in a file of this machine */
};

/* What the screen's colours are chosen for. */
enum pm_theme {
    PM_THEME_BOTH, /* readable on a dark and on a light background */
    PM_THEME_DARK, /* background */
    PM_THEME_LIGHT,
    PM_THEME_MONOCHROME /* no colour */
};

/* The values in force, as far as more than a text is made of them. */
struct pm_settings {
    pm_parts base;     /* of a new formula */
    enum pm_mode mode; /* of a new formula */
    int decimals;      /* that parts show at least, 1..6 */
    pm_mass batch;     /* that stock, cost and weighing begin with */
    char currency[4];  /* of a price typed without one; "": none */
    enum pm_theme theme;
    bool clipboard; /* copies go to the terminal's clipboard, else into a file */
    bool mouse;     /* clicks and the wheel move about */
    bool linear;    /* plain lines for a screen reader */
};

struct pm_setting {
    const char *key;     /* "smell_times": in commands, files and JSON */
    const char *title;   /* "Times to smell" */
    const char *help;    /* one sentence: what it does */
    const char *allowed; /* what can be typed, for people: "a number above 0" */
    const char *words;   /* the answers, "core|share"; NULL: what `clean` takes */
    const char *usual;   /* its value unless one is set; "": none */
    const char *stored;  /* key in the library; NULL: `key` */
    enum pm_setting_place place;
    /* Reads what was typed and appends it as it is kept. NULL: one of the words; or a name that
     * only the studio can find. */
    enum pm_status (*clean)(const char *text, struct pm_text *out, struct pm_error *err);
    /* Takes a clean text over into the values; NULL: only the text is used. */
    void (*take)(const char *text, struct pm_settings *values);
};

/* By enum pm_setting_number. */
extern const struct pm_setting pm_setting_table[PM_SETTINGS];

/* NULL when there is none of that key; '-' counts as '_'. */
const struct pm_setting *pm_setting_find(const char *key);
/* The key whose spelling is nearest to a mistyped one, or NULL. */
const struct pm_setting *pm_setting_near(const char *key);
/* What was typed, as it is kept, appended to `out`. PM_INVALID with a sentence that says what is
 * allowed; PM_NOMEM. */
enum pm_status pm_setting_clean(const struct pm_setting *setting, const char *text,
                                struct pm_text *out, struct pm_error *err);
/* All values as usual. */
void pm_settings_usual(struct pm_settings *values);
/* Takes over a text that was kept. One that cannot be read leaves the value and is told. */
enum pm_status pm_setting_take(const struct pm_setting *setting, const char *text,
                               struct pm_settings *values, struct pm_error *err);
/* "library", "machine"; and in a sentence, "in the library", "on this machine". */
const char *pm_setting_place_word(enum pm_setting_place place);
const char *pm_setting_kept(enum pm_setting_place place);

#endif
