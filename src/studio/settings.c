/* SPDX-License-Identifier: MIT */
/* Settings as they are in force: the library's and the machine's. */
#include "permille/studio/settings.h"

#include "inside.h"
#include "machine.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/scale.h"

#include <string.h>

static const char *stored_key(const struct pm_setting *setting)
{
    return setting->stored != NULL ? setting->stored : setting->key;
}

static bool is_balance(const struct pm_setting *setting)
{
    return setting == &pm_setting_table[PM_SETTING_BALANCE];
}

/* ---- reading ---- */

/* What is kept counts when it can be read; otherwise the usual value does, and the row says why. */
static void fill(struct pm_setting_row *row, const char *text, struct pm_arena *arena)
{
    struct pm_text clean = PM_TEXT_EMPTY;
    struct pm_error why = {0};
    const enum pm_status status = pm_setting_clean(row->is, text, &clean, &why);
    if (status == PM_OK) {
        row->value = pm_arena_text(arena, pm_text_get(&clean));
        row->set = true;
        row->fault = NULL;
    } else {
        row->fault = pm_arena_text(arena, why.text);
    }
    pm_text_release(&clean);
}

static enum pm_status read_balance(struct pm_studio *studio, struct pm_setting_row *row,
                                   struct pm_arena *arena, struct pm_error *err)
{
    struct pm_balance_rows rows;
    const enum pm_status status = pm_balances(studio, &rows, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < rows.count; i++) {
        if (!rows.items[i].in_use)
            continue;
        row->value = pm_arena_text(arena, rows.items[i].name);
        row->set = true;
    }
    pm_list_release(&rows);
    return PM_OK;
}

static enum pm_status read_work(struct pm_studio *studio, struct pm_setting_rows *rows,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < rows->count; i++) {
        struct pm_setting_row *row = &rows->items[i];
        char *text = NULL;
        if (row->is->place != PM_SETTING_WORK)
            continue;
        if (is_balance(row->is)) {
            status = read_balance(studio, row, &rows->arena, err);
            continue;
        }
        status = pm_setting_get(studio->library, stored_key(row->is), &text, err);
        if (status == PM_OK && text != NULL)
            fill(row, text, &rows->arena);
        pm_free(text);
    }
    return status;
}

static void take_line(void *context, const char *key, const char *value, int number)
{
    struct pm_setting_rows *rows = context;
    (void)number;
    if (key != NULL)
        fill(&rows->items[pm_setting_find(key) - pm_setting_table], value, &rows->arena);
}

/* A file that cannot be read is told with every setting it would hold: none of them counts. */
static void read_machine(struct pm_setting_rows *rows)
{
    struct pm_error why = {0};
    if (pm_machine_read(take_line, rows, &why) == PM_OK)
        return;
    for (size_t i = 0; i < rows->count; i++)
        if (rows->items[i].is->place == PM_SETTING_MACHINE)
            rows->items[i].fault = pm_arena_text(&rows->arena, why.text);
}

static enum pm_status make_rows(struct pm_setting_rows *rows, struct pm_error *err)
{
    *rows = (struct pm_setting_rows){.items = NULL};
    for (size_t i = 0; i < PM_SETTINGS; i++) {
        struct pm_setting_row *row = pm_list_add(rows);
        if (row == NULL) {
            pm_list_release(rows);
            return pm_fail_memory(err);
        }
        *row =
            (struct pm_setting_row){.is = &pm_setting_table[i], .value = pm_setting_table[i].usual};
    }
    return PM_OK;
}

enum pm_status pm_settings_list(struct pm_studio *studio, struct pm_setting_rows *out,
                                struct pm_error *err)
{
    struct pm_setting_rows rows;
    enum pm_status status = make_rows(&rows, err);
    if (status != PM_OK)
        return status;
    read_machine(&rows);
    if (studio != NULL && (status = pm_studio_look_begin(studio, err)) == PM_OK)
        status = pm_look_over(studio, read_work(studio, &rows, err));
    if (status == PM_OK)
        status = pm_arena_status(&rows.arena, err);
    if (status == PM_OK)
        *out = rows;
    else
        pm_list_release(&rows);
    return status;
}

enum pm_status pm_settings_now(struct pm_studio *studio, struct pm_settings *out,
                               struct pm_error *err)
{
    struct pm_setting_rows rows;
    const enum pm_status status = pm_settings_list(studio, &rows, err);
    if (status != PM_OK)
        return status;
    pm_settings_usual(out);
    for (size_t i = 0; i < rows.count; i++)
        if (rows.items[i].set && rows.items[i].is->take != NULL)
            rows.items[i].is->take(rows.items[i].value, out);
    pm_list_release(&rows);
    return PM_OK;
}

enum pm_status pm_settings_text(struct pm_studio *studio, enum pm_setting_number number, char **out,
                                struct pm_error *err)
{
    struct pm_setting_rows rows;
    enum pm_status status = pm_settings_list(studio, &rows, err);
    if (status != PM_OK)
        return status;
    char *text = pm_strdup(rows.items[number].value);
    pm_list_release(&rows);
    if (text == NULL)
        return pm_fail_memory(err);
    *out = text;
    return PM_OK;
}

enum pm_status pm_settings_currency(struct pm_studio *studio, char out[4], struct pm_error *err)
{
    struct pm_settings values;
    char *text = NULL;
    const enum pm_status status = pm_setting_get(
        studio->library, stored_key(&pm_setting_table[PM_SETTING_CURRENCY]), &text, err);
    pm_settings_usual(&values);
    if (status == PM_OK && text != NULL)
        pm_setting_take(&pm_setting_table[PM_SETTING_CURRENCY], text, &values, NULL);
    memcpy(out, values.currency, sizeof values.currency);
    pm_free(text);
    return status;
}

/* ---- the machine ---- */

struct machine {
    struct pm_settings *values;
    struct pm_text keys;
    void (*complain)(void *context, const char *sentence);
    void *context;
};

static void complain(const struct machine *machine, const char *sentence)
{
    if (machine->complain != NULL)
        machine->complain(machine->context, sentence);
}

static void take_machine_line(void *context, const char *key, const char *value, int number)
{
    struct machine *machine = context;
    struct pm_error why = {0};
    char line[PM_ERROR_TEXT];
    if (key == NULL) {
        complain(machine, pm_print(line, sizeof line,
                                   "Line %d of the settings is not understood: there is no setting "
                                   "\"%.60s\" of this machine.",
                                   number, value));
        return;
    }
    const struct pm_setting *setting = pm_setting_find(key);
    if (pm_setting_take(setting, value, machine->values, &why) != PM_OK) {
        complain(machine,
                 pm_print(line, sizeof line, "Line %d of the settings: %.400s", number, why.text));
    } else if (setting == &pm_setting_table[PM_SETTING_KEYS]) {
        pm_text_clear(&machine->keys);
        pm_text_add(&machine->keys, value);
    }
}

void pm_machine_settings(struct pm_settings *values, char **keys,
                         void (*tell)(void *context, const char *sentence), void *context)
{
    struct machine machine = {
        .values = values, .keys = PM_TEXT_EMPTY, .complain = tell, .context = context};
    struct pm_error why = {0};
    if (pm_machine_read(take_machine_line, &machine, &why) != PM_OK)
        complain(&machine, why.text);
    if (keys != NULL) {
        const char *name = machine.keys.length > 0 ? pm_text_get(&machine.keys)
                                                   : pm_setting_table[PM_SETTING_KEYS].usual;
        if (pm_machine_path(name, keys, &why) != PM_OK)
            complain(&machine, why.text);
    }
    pm_text_release(&machine.keys);
}

/* ---- setting ---- */

static enum pm_status set_balance(struct pm_studio *studio, const char *name, struct pm_error *err)
{
    int64_t id = 0;
    enum pm_status status = PM_OK;
    if (name == NULL)
        return pm_setting_drop(studio->library, "balance", err);
    status = pm_balance_find(studio, name, &id, err);
    return status == PM_OK ? pm_balance_use(studio, id, err) : status;
}

static enum pm_status set_work(struct pm_studio *studio, const struct pm_setting *setting,
                               const char *clean, struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    if (is_balance(setting))
        status = set_balance(studio, clean, err);
    else if (clean == NULL)
        status = pm_setting_drop(studio->library, stored_key(setting), err);
    else
        status = pm_setting_put(studio->library, stored_key(setting), clean, err);
    return pm_change_end(studio, status, err);
}

enum pm_status pm_settings_set(struct pm_studio *studio, const struct pm_setting *setting,
                               const char *text, struct pm_error *err)
{
    struct pm_text clean = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    const bool back = text == NULL || pm_is_blank(text);
    if (!back)
        status = pm_setting_clean(setting, text, &clean, err);
    const char *value = back ? NULL : pm_text_get(&clean);
    if (status == PM_OK && setting->place == PM_SETTING_MACHINE)
        status = pm_machine_write(setting->key, value, err);
    else if (status == PM_OK)
        status = set_work(studio, setting, value, err);
    pm_text_release(&clean);
    return pm_error_at(err, setting->key, status);
}
