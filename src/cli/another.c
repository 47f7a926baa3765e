/* SPDX-License-Identifier: MIT */
/* Another library that comes in, item by item (see another.h). */
#include "another.h"
#include "listing.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/bottle.h"
#include "permille/studio/another.h"

#include <stdlib.h>
#include <string.h>

bool pm_cli_chooses(const struct pm_cli *cli)
{
    return pm_cli_has(cli, "only") || pm_cli_has(cli, "also") || pm_cli_has(cli, "skip") ||
           pm_cli_has(cli, "as");
}

/* ---- what an option names ---- */

/* "formula:Harbour", "formulas", "#17". */
struct what {
    bool by_place;
    size_t place;
    enum pm_other_kind kind;
    const char *name; /* NULL: all of the kind */
};

static enum pm_status read_what(struct pm_cli *cli, const char *text, struct what *what,
                                struct pm_error *err)
{
    const char *colon = strchr(text, ':');
    const size_t length = colon != NULL ? (size_t)(colon - text) : strlen(text);
    char *end;
    *what = (struct what){.name = colon != NULL ? colon + 1 : NULL};
    if (text[0] == '#') {
        what->by_place = true;
        what->place = strtoul(text + 1, &end, 10);
        if (text[1] != '\0' && *end == '\0' && what->place > 0)
            return PM_OK;
    } else if (pm_other_kind_from_word(text, length, &what->kind)) {
        return PM_OK;
    }
    return pm_cli_usage(cli, err,
                        "\"%s\" names nothing that comes in: say a kind (formulas), one of a kind "
                        "(formula:NAME, bottle:B012), or a number of the plan (#17).",
                        text);
}

static bool is_called(const struct pm_other_item *item, const char *name)
{
    char label[PM_BOTTLE_LABEL];
    return pm_fold_equal(item->name, name) ||
           (item->kind == PM_OTHER_BOTTLE && pm_fold_equal(pm_bottle_label(item->id, label), name));
}

/* Marks what is meant; PM_MISSING when that is nothing. */
static enum pm_status mark(const struct pm_another *another, const struct what *what,
                           const char *text, bool *marks, struct pm_error *err)
{
    size_t count = 0;
    for (size_t i = 0; i < another->items.count; i++) {
        const struct pm_other_item *item = &another->items.items[i];
        if (what->by_place
                ? i + 1 == what->place
                : item->kind == what->kind && (what->name == NULL || is_called(item, what->name))) {
            marks[i] = true;
            count++;
        }
    }
    return count > 0
               ? PM_OK
               : pm_fail(err, PM_MISSING,
                         "There is no \"%s\" in that library; --plan lists what there is.", text);
}

/* All that an option that may stand several times names. */
static enum pm_status mark_all(struct pm_cli *cli, const struct pm_another *another,
                               const char *option, bool *marks, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    size_t at = 0;
    const char *text;
    memset(marks, 0, another->items.count * sizeof *marks);
    while (status == PM_OK && (text = pm_cli_next_value(cli, option, &at)) != NULL) {
        struct what what;
        status = read_what(cli, text, &what, err);
        if (status == PM_OK)
            status = mark(another, &what, text, marks, err);
    }
    return status;
}

/* Nothing but what --only names, as far as it can come in. */
static enum pm_status keep_only(struct pm_cli *cli, struct pm_another *another, bool *marks,
                                struct pm_error *err)
{
    enum pm_status status = mark_all(cli, another, "only", marks, err);
    for (size_t i = 0; status == PM_OK && i < another->items.count; i++)
        marks[i] = !marks[i];
    return status == PM_OK ? pm_another_wish_all(another, marks, PM_OTHER_LEAVE, NULL, err)
                           : status;
}

/* What --also names alone has to be possible; of a whole kind, what is. */
static enum pm_status take(struct pm_cli *cli, struct pm_another *another, bool *marks,
                           struct pm_error *err)
{
    size_t wished = 0, named = 0, last = 0;
    enum pm_status status = mark_all(cli, another, "also", marks, err);
    for (size_t i = 0; i < another->items.count; i++)
        if (marks[i]) {
            named++;
            last = i;
        }
    if (status == PM_OK && named == 1)
        return pm_another_wish(another, last,
                               pm_other_can(&another->items.items[last], PM_OTHER_TAKE, NULL)
                                   ? PM_OTHER_TAKE
                                   : PM_OTHER_SECOND,
                               err);
    return status == PM_OK ? pm_another_wish_all(another, marks, PM_OTHER_TAKE, &wished, err)
                           : status;
}

/* --as formula:Harbour=Harbour of the attic */
static enum pm_status call(struct pm_cli *cli, struct pm_another *another, const char *text,
                           bool *marks, struct pm_error *err)
{
    const char *equals = strchr(text, '=');
    struct what what;
    size_t count = 0, at = 0;
    if (equals == NULL)
        return pm_cli_usage(cli, err, "--as wants WHAT=NAME, not \"%s\".", text);
    char *left = pm_strndup(text, (size_t)(equals - text));
    if (left == NULL)
        return pm_fail_memory(err);
    memset(marks, 0, another->items.count * sizeof *marks);
    enum pm_status status = read_what(cli, left, &what, err);
    if (status == PM_OK)
        status = mark(another, &what, left, marks, err);
    for (size_t i = 0; status == PM_OK && i < another->items.count; i++)
        if (marks[i]) {
            count++;
            at = i;
        }
    if (status == PM_OK && count != 1)
        status = pm_fail(err, PM_REFUSED, "\"%s\" is %zu things; --as names one.", left, count);
    if (status == PM_OK)
        status = pm_another_call(another, at, equals + 1, err);
    pm_free(left);
    return status;
}

static enum pm_status choose(struct pm_cli *cli, struct pm_another *another, struct pm_error *err)
{
    bool *marks = pm_alloc_array(another->items.count + 1, sizeof *marks);
    const char *text;
    size_t at = 0;
    enum pm_status status = marks != NULL ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && pm_cli_has(cli, "only"))
        status = keep_only(cli, another, marks, err);
    if (status == PM_OK && pm_cli_has(cli, "skip")) {
        status = mark_all(cli, another, "skip", marks, err);
        if (status == PM_OK)
            status = pm_another_wish_all(another, marks, PM_OTHER_LEAVE, NULL, err);
    }
    if (status == PM_OK && pm_cli_has(cli, "also"))
        status = take(cli, another, marks, err);
    while (status == PM_OK && (text = pm_cli_next_value(cli, "as", &at)) != NULL)
        status = call(cli, another, text, marks, err);
    pm_free(marks);
    return status;
}

/* ---- telling ---- */

static bool can_differ(enum pm_other_state state)
{
    return state != PM_OTHER_NEW && state != PM_OTHER_SAME && state != PM_OTHER_ASIDE;
}

static enum pm_status put_differences(struct pm_json *json, struct pm_another *another, size_t at,
                                      struct pm_error *err)
{
    struct pm_another_fields fields = {0};
    enum pm_status status = PM_OK;
    if (can_differ(another->items.items[at].state))
        status = pm_another_differences(another, at, '.', &fields, err);
    pm_json_put_open(json, "differences", '[');
    for (size_t i = 0; status == PM_OK && i < fields.count; i++) {
        pm_json_open(json, '{');
        pm_json_put_string(json, "field", fields.items[i].field);
        pm_json_put_string(json, "here", fields.items[i].mine);
        pm_json_put_string(json, "there", fields.items[i].theirs);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_list_release(&fields);
    return status;
}

static enum pm_status put_item(struct pm_json *json, struct pm_another *another, size_t at,
                               struct pm_text *text, struct pm_error *err)
{
    const struct pm_other_item *item = &another->items.items[at];
    const struct pm_other_wish *wish = &another->wishes[at];
    char label[PM_BOTTLE_LABEL];
    pm_json_open(json, '{');
    pm_json_put_int(json, "number", (int64_t)at + 1);
    pm_json_put_string(json, "kind", pm_other_kind_code(item->kind));
    pm_json_put_string(json, "name", item->name);
    pm_json_put_string(json, "bottle",
                       item->kind == PM_OTHER_BOTTLE ? pm_bottle_label(item->id, label) : NULL);
    pm_json_put_string(json, "detail", item->detail);
    pm_json_put_string(json, "state", pm_other_state_word(item->state));
    pm_text_clear(text);
    pm_another_say_state(another, at, text);
    pm_json_put_string(json, "says", pm_text_get(text));
    pm_json_put_string(json, "comes", pm_other_how_word(wish->comes));
    pm_json_put_string(json, "as",
                       another->names[at] != NULL  ? another->names[at]
                       : another->numbers[at] != 0 ? pm_bottle_label(another->numbers[at], label)
                                                   : NULL);
    pm_json_key(json, "needed_by");
    if (wish->needed_by != SIZE_MAX)
        pm_json_int(json, (int64_t)wish->needed_by + 1);
    else
        pm_json_null(json);
    pm_json_put_int(json, "more_there", item->theirs_more);
    pm_json_put_int(json, "more_here", item->mine_more);
    const enum pm_status status = put_differences(json, another, at, err);
    pm_json_close(json, '}');
    return status;
}

static enum pm_status put_json(struct pm_cli *cli, struct pm_another *another, bool written,
                               struct pm_error *err)
{
    struct pm_json json;
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_bool(&json, "written", written);
    pm_json_put_string(&json, "read_as", "library");
    pm_json_put_open(&json, "items", '[');
    for (size_t i = 0; status == PM_OK && i < another->items.count; i++)
        status = put_item(&json, another, i, &text, err);
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
    if (status == PM_OK && !pm_text_ok(&text))
        status = pm_fail_memory(err);
    pm_text_release(&text);
    return status;
}

static const struct pm_listing_column columns[] = {
    {.title = "#", .kind = PM_LISTING_NUMBER},
    {.title = "what", .kind = PM_LISTING_TEXT},
    {.title = "name", .kind = PM_LISTING_TEXT},
    {.title = "comes in", .kind = PM_LISTING_TEXT},
    {.title = "how it stands", .kind = PM_LISTING_TEXT},
};

static bool is_listed(const struct pm_another *another, size_t at)
{
    const enum pm_other_state state = another->items.items[at].state;
    return another->wishes[at].comes != PM_OTHER_LEAVE ||
           (state != PM_OTHER_SAME && state != PM_OTHER_LESS);
}

static void add_row(struct pm_listing *listing, const struct pm_another *another, size_t at,
                    struct pm_text *text)
{
    pm_listing_number(listing, (int64_t)at + 1);
    pm_listing_text(listing, pm_other_kind_word(another->items.items[at].kind, false));
    pm_text_clear(text);
    pm_another_say_item(another, at, pm_decimal_sign(), text);
    pm_listing_made(listing, text);
    pm_text_clear(text);
    pm_another_say_how(another, at, text);
    pm_listing_made(listing, text);
    pm_text_clear(text);
    pm_another_say_state(another, at, text);
    pm_listing_made(listing, text);
}

static enum pm_status tell_differences(struct pm_cli *cli, struct pm_another *another, size_t at,
                                       struct pm_error *err)
{
    struct pm_another_fields fields;
    enum pm_status status = pm_another_differences(another, at, pm_decimal_sign(), &fields, err);
    if (status != PM_OK)
        return status;
    if (fields.count > 0) {
        pm_text_addf(&cli->out, "\n#%zu ", at + 1);
        pm_cli_add_shown(&cli->out, another->items.items[at].name);
        pm_text_add(&cli->out, " differs:\n");
    }
    for (size_t i = 0; i < fields.count; i++) {
        pm_text_add(&cli->out, "  ");
        pm_cli_add_shown(&cli->out, fields.items[i].field);
        pm_text_add(&cli->out, ": here ");
        pm_cli_add_shown(&cli->out, fields.items[i].mine != NULL ? fields.items[i].mine : "-");
        pm_text_add(&cli->out, ", there ");
        pm_cli_add_shown(&cli->out, fields.items[i].theirs != NULL ? fields.items[i].theirs : "-");
        pm_text_add_char(&cli->out, '\n');
    }
    pm_list_release(&fields);
    return PM_OK;
}

static enum pm_status put_text(struct pm_cli *cli, struct pm_another *another, struct pm_error *err)
{
    struct pm_listing listing;
    struct pm_text text = PM_TEXT_EMPTY;
    size_t rows = 0;
    pm_listing_init(&listing, PM_LISTING_COLUMNS(columns));
    for (size_t i = 0; i < another->items.count; i++)
        if (is_listed(another, i)) {
            add_row(&listing, another, i, &text);
            rows++;
        }
    pm_text_release(&text);
    enum pm_status status = rows == 0 ? PM_OK
                                      : pm_listing_as_text(&listing, pm_decimal_sign(),
                                                           cli->front->columns, &cli->out, err);
    pm_listing_release(&listing);
    for (size_t i = 0; status == PM_OK && i < another->items.count; i++)
        if (can_differ(another->items.items[i].state) && is_listed(another, i))
            status = tell_differences(cli, another, i, err);
    return status;
}

static enum pm_status say_counts(struct pm_cli *cli, const struct pm_another *another, bool written,
                                 struct pm_error *err)
{
    size_t counts[PM_OTHER_KINDS], same = 0;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_another_count(another, counts);
    pm_another_say_counts(counts, &text);
    for (size_t i = 0; i < another->items.count; i++)
        same += !is_listed(another, i);
    if (written)
        pm_cli_say(cli, "Brought in: %s.", pm_text_get(&text));
    else
        pm_cli_say(cli, "Would come in: %s; %zu %s here already; nothing was written.",
                   pm_text_get(&text), same, same == 1 ? "is" : "are");
    const enum pm_status status = pm_text_ok(&text) ? PM_OK : pm_fail_memory(err);
    pm_text_release(&text);
    return status;
}

/* ---- all of it ---- */

static void say_lines(struct pm_cli *cli, const char *told)
{
    for (const char *at = told; *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        pm_cli_say(cli, "%.*s", (int)length, at);
        at += length + (at[length] == '\n');
    }
}

static enum pm_status bring(struct pm_cli *cli, struct pm_another *another, struct pm_error *err)
{
    char *told = NULL;
    enum pm_status status = cli->form == PM_CLI_JSON ? put_json(cli, another, true, err) : PM_OK;
    if (status == PM_OK)
        status = pm_another_bring(cli->studio, another, &told, err);
    if (status == PM_OK)
        status = say_counts(cli, another, true, err);
    if (status == PM_OK && told != NULL)
        say_lines(cli, told);
    pm_free(told);
    return status;
}

static enum pm_status show(struct pm_cli *cli, struct pm_another *another, struct pm_error *err)
{
    const enum pm_status status =
        cli->form == PM_CLI_JSON ? put_json(cli, another, false, err) : put_text(cli, another, err);
    return status == PM_OK ? say_counts(cli, another, false, err) : status;
}

enum pm_status pm_cli_import_another(struct pm_cli *cli, const char *path,
                                     const struct pm_text *text, bool dry, struct pm_error *err)
{
    struct pm_another *another = NULL;
    enum pm_status status = text != NULL ? pm_another_open_text(cli->studio, pm_text_get(text),
                                                                text->length, &another, err)
                                         : pm_another_open(cli->studio, path, &another, err);
    if (status == PM_OK)
        status = choose(cli, another, err);
    if (status == PM_OK)
        status = dry ? show(cli, another, err) : bring(cli, another, err);
    pm_another_close(another);
    return status;
}
