/* SPDX-License-Identifier: MIT */
/* The settings (core/settings.h). */
#include "permille/core/settings.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/currency.h"
#include "permille/core/smell.h"
#include "permille/core/weigh_plan.h"

#include <string.h>

#define DECIMALS_MOST 6
#define PATH_MOST     1000 /* bytes */

/* ---- reading each ---- */

static enum pm_status clean_base(const char *text, struct pm_text *out, struct pm_error *err)
{
    char buf[PM_AMOUNT_TEXT];
    pm_parts base = 0;
    enum pm_status status = pm_decimal_read(text, 6, "The base", &base, err);
    if (status == PM_OK && (base <= 0 || base > PM_PARTS_MAX))
        status = pm_fail(err, PM_INVALID, "The base lies above 0 and within a million parts.");
    if (status == PM_OK)
        pm_text_add(out, pm_decimal_exact(base, 6, '.', buf));
    return status;
}

static void take_base(const char *text, struct pm_settings *values)
{
    (void)pm_decimal_read(text, 6, "The base", &values->base, NULL);
}

static void take_mode(const char *text, struct pm_settings *values)
{
    (void)pm_mode_from_word(text, &values->mode);
}

static enum pm_status clean_decimals(const char *text, struct pm_text *out, struct pm_error *err)
{
    int64_t number = 0;
    enum pm_status status = pm_decimal_read(text, 0, "The number of decimals", &number, err);
    if (status == PM_OK && (number < 1 || number > DECIMALS_MOST))
        status = pm_fail(err, PM_INVALID, "Parts show 1 to %d decimals at least.", DECIMALS_MOST);
    if (status == PM_OK)
        pm_text_addf(out, "%d", (int)number);
    return status;
}

static void take_decimals(const char *text, struct pm_settings *values)
{
    values->decimals = text[0] - '0';
}

static enum pm_status clean_batch(const char *text, struct pm_text *out, struct pm_error *err)
{
    char buf[PM_AMOUNT_TEXT];
    pm_mass mass = 0;
    enum pm_status status = pm_mass_read(text, &mass, err);
    if (status == PM_OK && mass <= 0)
        status = pm_fail(err, PM_INVALID, "A batch weighs something.");
    if (status == PM_OK)
        pm_text_add(out, pm_mass_exact(mass, '.', buf));
    return status;
}

static void take_batch(const char *text, struct pm_settings *values)
{
    (void)pm_mass_read(text, &values->batch, NULL);
}

static enum pm_status clean_within(const char *text, struct pm_text *out, struct pm_error *err)
{
    char buf[PM_AMOUNT_TEXT];
    pm_strength within = 0;
    enum pm_status status = pm_strength_read(text, &within, err);
    if (status == PM_OK)
        pm_text_add(out, pm_strength_format(within, '.', buf));
    return status;
}

static enum pm_status clean_currency(const char *text, struct pm_text *out, struct pm_error *err)
{
    char code[4];
    enum pm_status status = pm_currency_read(text, code, err);
    if (status == PM_OK)
        pm_text_add(out, code);
    return status;
}

static void take_currency(const char *text, struct pm_settings *values)
{
    pm_print(values->currency, sizeof values->currency, "%s", text);
}

static enum pm_status clean_times(const char *text, struct pm_text *out, struct pm_error *err)
{
    struct pm_schedule schedule;
    enum pm_status status = pm_schedule_read(text, &schedule, err);
    if (status != PM_OK)
        return status;
    char *clean = pm_schedule_text(&schedule);
    if (clean == NULL)
        return pm_fail_memory(err);
    pm_text_add(out, clean);
    pm_free(clean);
    return PM_OK;
}

static void take_theme(const char *text, struct pm_settings *values)
{
    values->theme =
        (enum pm_theme)pm_word_place_among(pm_setting_table[PM_SETTING_THEME].words, text);
}

static void take_clipboard(const char *text, struct pm_settings *values)
{
    values->clipboard = strcmp(text, "yes") == 0;
}

static void take_linear(const char *text, struct pm_settings *values)
{
    values->linear = strcmp(text, "yes") == 0;
}

static void take_mouse(const char *text, struct pm_settings *values)
{
    values->mouse = strcmp(text, "yes") == 0;
}

static enum pm_status clean_path(const char *text, struct pm_text *out, struct pm_error *err)
{
    const size_t length = strlen(text);
    if (length > PATH_MOST || !pm_utf8_valid(text, length) || strpbrk(text, "\n\r\t") != NULL)
        return pm_fail(err, PM_INVALID, "That is no name of a file.");
    pm_text_add(out, text);
    return PM_OK;
}

/* ---- the table ---- */

#define YES_NO "no|yes"

const struct pm_setting pm_setting_table[PM_SETTINGS] = {
    [PM_SETTING_BASE] = {.key = "base",
                         .title = "Base",
                         .help = "The total that a new formula is written to.",
                         .allowed = "a number above 0: 100, 1000",
                         .usual = "1000",
                         .clean = clean_base,
                         .take = take_base},
    [PM_SETTING_MODE] = {.key = "mode",
                         .title = "Mode",
                         .help = "What gives way in a new formula when one of its lines changes.",
                         .allowed = "core, share, carrier or open",
                         .words = "core|share|carrier|open",
                         .usual = "core",
                         .take = take_mode},
    [PM_SETTING_DECIMALS] = {.key = "decimals",
                             .title = "Decimals",
                             .help = "How many decimals parts show at least; a trace shows as many "
                                     "more as it needs.",
                             .allowed = "a number from 1 to 6",
                             .usual = "2",
                             .clean = clean_decimals,
                             .take = take_decimals},
    [PM_SETTING_BATCH] = {.key = "batch",
                          .title = "Batch",
                          .help = "The mass that stock, cost and weighing are reckoned for at "
                                  "first.",
                          .allowed = "a mass: 10 g",
                          .usual = "10 g",
                          .clean = clean_batch,
                          .take = take_batch},
    [PM_SETTING_BALANCE] = {.key = "balance",
                            .title = "Balance in use",
                            .help = "The balance that plans are made for; without one a display of "
                                    "0.01 g is reckoned with.",
                            .allowed = "the name of a balance that is kept",
                            .usual = ""},
    [PM_SETTING_WEIGH_WITHIN] = {.key = "weigh_within",
                                 .title = "Weighed within",
                                 .help =
                                     "What two standard uncertainties of a weight may be of it; "
                                     "weights that are too small for it are told.",
                                 .allowed = "a share: 2 %",
                                 .usual = "2 %",
                                 .clean = clean_within},
    [PM_SETTING_WEIGH_ORDER] = {.key = "weigh_order",
                                .title = "Order of pouring",
                                .help =
                                    "Traces first, the largest first, the least volatile first, "
                                    "or as written; solvents come last where they are not the "
                                    "largest.",
                                .allowed = "traces, largest, volatile or written",
                                .words = PM_WEIGH_ORDER_WORDS,
                                .usual = "traces"},
    [PM_SETTING_CURRENCY] = {.key = "currency",
                             .title = "Currency",
                             .help = "The currency of a price that is typed without one.",
                             .allowed = "three letters of ISO 4217: EUR",
                             .usual = "",
                             .clean = clean_currency,
                             .take = take_currency},
    [PM_SETTING_SMELL_TIMES] = {.key = "smell_times",
                                .title = "Times to smell",
                                .help = "When something newly put on a blotter or skin is to be "
                                        "smelled.",
                                .allowed = "times after putting on: 0, 15min, 1h, 1d",
                                .usual = "0, 5 min, 15 min, 30 min, 1 h, 2 h, 4 h, 8 h, 1 d, 2 d",
                                .stored = "smell.schedule",
                                .clean = clean_times},
    [PM_SETTING_THEME] = {.key = "theme",
                          .title = "Colours",
                          .help = "What the colours are chosen for: both backgrounds, a dark or a "
                                  "light one, or none.",
                          .allowed = "both, dark, light or monochrome",
                          .words = "both|dark|light|monochrome",
                          .usual = "both",
                          .place = PM_SETTING_MACHINE,
                          .take = take_theme},
    [PM_SETTING_CLIPBOARD] = {.key = "clipboard",
                              .title = "Clipboard",
                              .help = "Whether a copied table goes to the terminal's clipboard "
                                      "(OSC 52); otherwise into a file.",
                              .allowed = "yes or no",
                              .words = YES_NO,
                              .usual = "yes",
                              .place = PM_SETTING_MACHINE,
                              .take = take_clipboard},
    [PM_SETTING_LINEAR] = {.key = "linear",
                           .title = "Plain lines",
                           .help =
                               "Whether tables and, from its next start on, the editor speak in "
                               "plain lines, for a screen reader.",
                           .allowed = "yes or no",
                           .words = YES_NO,
                           .usual = "no",
                           .place = PM_SETTING_MACHINE,
                           .take = take_linear},
    [PM_SETTING_MOUSE] = {.key = "mouse",
                          .title = "Mouse",
                          .help =
                              "Whether clicks and the wheel move about, from the next start on; "
                              "the terminal selects text with Shift then.",
                          .allowed = "yes or no",
                          .words = YES_NO,
                          .usual = "no",
                          .place = PM_SETTING_MACHINE,
                          .take = take_mouse},
    [PM_SETTING_KEYS] = {.key = "keys",
                         .title = "Key file",
                         .help = "The file that gives actions keys of one's own, in the folder of "
                                 "this machine's settings; read at the start.",
                         .allowed = "the name of a file",
                         .usual = "keys",
                         .place = PM_SETTING_MACHINE,
                         .clean = clean_path},
};

/* ---- looking up ---- */

const struct pm_setting *pm_setting_find(const char *key)
{
    for (size_t i = 0; i < PM_SETTINGS; i++) {
        const char *own = pm_setting_table[i].key, *at = key;
        while (*own != '\0' && (*own == *at || (*own == '_' && *at == '-'))) {
            own++;
            at++;
        }
        if (*own == '\0' && *at == '\0')
            return &pm_setting_table[i];
    }
    return NULL;
}

const struct pm_setting *pm_setting_near(const char *key)
{
    const struct pm_setting *best = NULL;
    int nearest = 3; /* more slips than this are another word */
    for (size_t i = 0; i < PM_SETTINGS; i++) {
        const char *own = pm_setting_table[i].key;
        const int far = pm_word_distance(key, strlen(key), own, strlen(own), nearest);
        if (far < nearest) {
            nearest = far;
            best = &pm_setting_table[i];
        }
    }
    return best;
}

const char *pm_setting_place_word(enum pm_setting_place place)
{
    return place == PM_SETTING_WORK ? "library" : "machine";
}

const char *pm_setting_kept(enum pm_setting_place place)
{
    return place == PM_SETTING_WORK ? "in the library" : "on this machine";
}

/* ---- values ---- */

/* Without the blanks around it; NULL without memory. */
static char *trimmed(const char *text)
{
    text += strspn(text, " \t\r\n");
    size_t length = strlen(text);
    while (length > 0 && strchr(" \t\r\n", text[length - 1]) != NULL)
        length--;
    return pm_strndup(text, length);
}

static enum pm_status clean_word(const struct pm_setting *setting, const char *text,
                                 struct pm_text *out, struct pm_error *err)
{
    char *folded = pm_fold(text);
    if (folded == NULL)
        return pm_fail_memory(err);
    const bool known = pm_word_among(setting->words, folded);
    if (known)
        pm_text_add(out, folded);
    pm_free(folded);
    return known ? PM_OK
                 : pm_fail(err, PM_INVALID, "\"%.60s\" is not one of them: %s.", text,
                           setting->allowed);
}

enum pm_status pm_setting_clean(const struct pm_setting *setting, const char *text,
                                struct pm_text *out, struct pm_error *err)
{
    char *typed = trimmed(text);
    enum pm_status status = PM_OK;
    if (typed == NULL)
        return pm_fail_memory(err);
    if (typed[0] == '\0')
        status = pm_fail(err, PM_INVALID, "%s is %s.", setting->title, setting->allowed);
    else if (setting->words != NULL)
        status = clean_word(setting, typed, out, err);
    else if (setting->clean != NULL)
        status = setting->clean(typed, out, err);
    else
        pm_text_add(out, typed);
    pm_free(typed);
    if (status == PM_OK && !pm_text_ok(out))
        status = pm_fail_memory(err);
    return pm_error_at(err, setting->key, status);
}

enum pm_status pm_setting_take(const struct pm_setting *setting, const char *text,
                               struct pm_settings *values, struct pm_error *err)
{
    struct pm_text clean = PM_TEXT_EMPTY;
    enum pm_status status = pm_setting_clean(setting, text, &clean, err);
    if (status == PM_OK && setting->take != NULL)
        setting->take(pm_text_get(&clean), values);
    pm_text_release(&clean);
    return status;
}

void pm_settings_usual(struct pm_settings *values)
{
    *values = (struct pm_settings){.base = 0};
    for (size_t i = 0; i < PM_SETTINGS; i++)
        if (pm_setting_table[i].usual[0] != '\0' && pm_setting_table[i].take != NULL)
            pm_setting_table[i].take(pm_setting_table[i].usual, values);
}
