/* SPDX-License-Identifier: MIT */
/* Commands of the scale: batches, poured line by line. */
#include "bench.h"
#include "listing.h"
#include "scale.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/stock.h"

#include <string.h>

enum pm_status pm_cli_open_batch(struct pm_cli *cli, int64_t *id, struct pm_error *err)
{
    enum pm_status status = pm_decimal_read(cli->operands[0], 0, "The batch's number", id, err);
    return status == PM_OK ? pm_cli_open(cli, false, err) : status;
}

/* 0: none. */
static void put_number(struct pm_json *json, const char *key, int64_t number)
{
    pm_json_put_known(json, key, number != 0 ? number : -1, 0);
}

static const char *state_word(enum pm_batch_state state)
{
    return state == PM_BATCH_STARTED || state == PM_BATCH_PAUSED ? "pouring" : pm_batch_word(state);
}

static void put_pours(struct pm_json *json, const struct pm_batch_record *record)
{
    char label[PM_BOTTLE_LABEL], at[PM_TIME_TEXT];
    pm_json_put_open(json, "pours", '[');
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        pm_json_open(json, '{');
        pm_json_put_int(json, "pour", pour->id);
        pm_json_put_int(json, "place", pour->place);
        pm_json_put_string(json, "bottle",
                           pour->bottle != 0 ? pm_bottle_label(pour->bottle, label) : NULL);
        pm_json_put_string(json, "lot", pour->lot);
        pm_json_put_string(json, "supplier", pour->supplier);
        pm_json_put_decimal(json, "mass_g", pour->mass, 6);
        put_number(json, "corrects", pour->corrects);
        pm_json_put_bool(json, "in_force", pour->in_force);
        pm_json_put_string(json, "at", pm_time_iso(pour->at, at));
        pm_json_put_string(json, "note", pour->note);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_plans(struct pm_json *json, const struct pm_batch_record *record)
{
    char at[PM_TIME_TEXT];
    pm_json_put_open(json, "plans", '[');
    for (size_t i = 0; i < record->plans.count; i++) {
        const struct pm_batch_plan *plan = &record->plans.items[i];
        pm_json_open(json, '{');
        pm_json_put_string(json, "way", plan->way);
        pm_json_put_decimal(json, "target_g", plan->target, 6);
        pm_json_put_string(json, "at", pm_time_iso(plan->at, at));
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_events(struct pm_json *json, const struct pm_batch_record *record)
{
    char at[PM_TIME_TEXT];
    pm_json_put_open(json, "events", '[');
    for (size_t i = 0; i < record->events.count; i++) {
        const struct pm_batch_event *event = &record->events.items[i];
        pm_json_open(json, '{');
        pm_json_put_string(json, "event", pm_batch_word(event->kind));
        pm_json_put_string(json, "at", pm_time_iso(event->at, at));
        pm_json_put_string(json, "text", event->text);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_batch(struct pm_json *json, const struct pm_batch_record *record)
{
    char label[PM_BOTTLE_LABEL];
    pm_json_put_int(json, "batch", record->batch.id);
    const char *slash = strrchr(record->batch.title, '/');
    char name[256];
    pm_print(name, sizeof name, "%.*s", (int)(slash != NULL ? slash - record->batch.title : 0),
             record->batch.title);
    pm_json_put_string(json, "formula", name);
    pm_json_put_int(json, "trial", record->batch.number);
    pm_json_put_string(json, "state", state_word(record->batch.state));
    pm_json_put_bool(json, "paused", record->batch.state == PM_BATCH_PAUSED);
    pm_json_put_string(json, "made_by", record->batch.made_by);
    pm_json_put_string(json, "way", record->plan.way);
    pm_json_put_decimal(json, "target_g", record->target, 6);
    pm_json_put_decimal(json, "poured_g", record->poured, 6);
    pm_json_put_open(json, "lines", '[');
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        pm_json_open(json, '{');
        pm_json_put_int(json, "line", line->number);
        pm_json_put_int(json, "place", line->place);
        pm_json_put_string(json, "material", line->name);
        pm_json_put_string(json, "bottle",
                           line->bottle != 0 ? pm_bottle_label(line->bottle, label) : NULL);
        pm_json_put_string(json, "lot", line->lot);
        pm_cli_put_whence(json, &line->whence);
        pm_json_put_decimal(json, "strength_percent", line->strength, 7);
        pm_json_put_decimal(json, "planned_g", line->first, 6);
        pm_json_put_decimal(json, "target_g", line->target, 6);
        pm_json_put_decimal(json, "poured_g", line->poured, 6);
        pm_json_put_decimal(json, "reads_g", line->reads, 6);
        pm_json_put_decimal(json, "deviation_percent", pm_cli_percent(line->deviation), 7);
        pm_json_put_bool(json, "done", line->done);
        pm_json_put_bool(json, "over", line->over);
        pm_json_put_int(json, "pour", line->pour);
        pm_json_put_decimal(json, "parts", line->parts, 6);
        pm_json_put_decimal(json, "target_parts", line->was_parts, 6);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    put_plans(json, record);
    put_pours(json, record);
    put_events(json, record);
}

void pm_cli_tell_record(struct pm_cli *cli, const struct pm_batch_record *record,
                        const char *sentence)
{
    struct pm_json json;
    if (pm_cli_tell_begin(cli, sentence, &json)) {
        put_batch(&json, record);
        pm_json_close(&json, '}');
    }
}

static enum pm_status tell_batch(struct pm_cli *cli, int64_t id, const char *sentence,
                                 struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = pm_batch_show(cli->studio, id, &record, err);
    if (status != PM_OK)
        return status;
    pm_cli_tell_record(cli, &record, sentence);
    pm_batch_record_release(&record);
    return PM_OK;
}

static enum pm_status run_start(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_weigh_how how = pm_cli_weigh_how(cli);
    struct pm_cli_named named = {0};
    int64_t planned = 0, id;
    pm_mass mass = 0;
    char sentence[80];
    enum pm_status status;
    if (cli->operand_count == 1) {
        status = pm_cli_open_batch(cli, &planned, err);
    } else {
        status = pm_mass_read(cli->operands[1], &mass, err);
        if (status == PM_OK)
            status = pm_cli_name(cli, 0, &named, err);
    }
    if (status == PM_OK && planned == 0 && named.number == 0)
        return pm_cli_usage(cli, err, "Batches are of kept trials: F/N.");
    if (status == PM_OK)
        status = pm_batch_start(cli->studio, planned, named.trial, mass, &how,
                                pm_cli_value(cli, "by"), &id, err);
    pm_print(sentence, sizeof sentence, "Started batch %lld",
             (long long)(status == PM_OK ? id : 0));
    return status == PM_OK ? tell_batch(cli, id, sentence, err) : status;
}

/* A stable reading of the balance that --from names. */
static enum pm_status read_balance(struct pm_cli *cli, const char *path, pm_mass *mass,
                                   struct pm_error *err)
{
    struct pm_balance_port *port;
    int64_t seconds = 30;
    bool stable = false;
    enum pm_status status = PM_OK;
    if (pm_cli_value(cli, "wait") != NULL)
        status = pm_span_read(pm_cli_value(cli, "wait"), &seconds, err);
    if (status == PM_OK)
        status = pm_balance_port_open(path, &port, err);
    if (status != PM_OK)
        return status;
    const int64_t until = pm_clock_now(NULL) + (seconds < 86400 ? seconds : 86400);
    do
        status = pm_balance_port_read(port, 200, &stable, mass, err);
    while (status == PM_OK && !stable && pm_clock_now(NULL) < until);
    pm_balance_port_close(port);
    if (status == PM_OK && !stable)
        status = pm_fail(err, PM_REFUSED, "The balance did not settle.");
    return status;
}

/* "3", "next", or a name that one line has. */
static enum pm_status find_place(struct pm_cli *cli, int64_t id, const char *text, int64_t *place,
                                 struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = pm_batch_show(cli->studio, id, &record, err);
    if (status != PM_OK)
        return status;
    *place = 0;
    if (strcmp(text, "next") == 0) {
        *place = record.next < record.count ? record.items[record.next].place : 0;
        if (*place == 0)
            status = pm_fail(err, PM_REFUSED, "Everything is poured.");
    } else if (text[0] != '\0' && text[strspn(text, "0123456789")] == '\0') {
        status = pm_decimal_read(text, 0, "The line", place, err);
    } else {
        for (size_t i = 0; i < record.count && status == PM_OK; i++)
            if (pm_fold_equal(record.items[i].name, text)) {
                if (*place != 0)
                    status = pm_fail(err, PM_REFUSED,
                                     "\"%.60s\" is poured more than once: say which by its number.",
                                     text);
                *place = record.items[i].place;
            }
        if (status == PM_OK && *place == 0)
            status = pm_fail(err, PM_MISSING, "Nothing called \"%.60s\" is poured.", text);
    }
    pm_batch_record_release(&record);
    return status;
}

void pm_cli_say_next(struct pm_cli *cli, const struct pm_batch_record *record)
{
    char reads[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    if (record->next >= record->count)
        return;
    const struct pm_batch_record_line *line = &record->items[record->next];
    pm_cli_say(cli, "Next: %s from %s, until the display shows %s.", line->tall,
               line->bottle != 0 ? pm_bottle_label(line->bottle, label) : "no bottle yet",
               pm_balance_text(&record->plan.balance, line->reads, pm_decimal_sign(), reads));
}

/* What was poured last: of what, and whether that was too much; and what comes next. */
static enum pm_status tell_poured(struct pm_cli *cli, const struct pm_pouring *pouring, bool over,
                                  struct pm_error *err)
{
    struct pm_batch_record record;
    char sentence[400], mass[PM_AMOUNT_TEXT];
    enum pm_status status = pm_batch_show(cli->studio, pouring->batch, &record, err);
    if (status != PM_OK)
        return status;
    pm_print(sentence, sizeof sentence, "Poured %s of %.300s into batch %lld",
             pm_balance_exact(&record.plan.balance, record.pours.items[record.pours.count - 1].mass,
                              pm_decimal_sign(), mass),
             record.items[pouring->place - 1].name, (long long)pouring->batch);
    pm_cli_tell_record(cli, &record, sentence);
    if (over)
        pm_cli_say(cli, "That is more than was meant: \"batch rescue %lld\" tells the ways out.",
                   (long long)pouring->batch);
    else
        pm_cli_say_next(cli, &record);
    pm_batch_record_release(&record);
    return PM_OK;
}

static enum pm_status run_pour(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_pouring pouring = {.even_below = pm_cli_has(cli, "even-below"),
                                 .note = pm_cli_value(cli, "note")};
    const char *from = pm_cli_value(cli, "from");
    char sum[PM_AMOUNT_TEXT];
    bool over = false;
    if ((cli->operand_count < 3) == (from == NULL))
        return pm_cli_usage(cli, err, "Say what was poured, or --from what the balance is read.");
    enum pm_status status = pm_cli_open_batch(cli, &pouring.batch, err);
    if (status == PM_OK)
        status = find_place(cli, pouring.batch, cli->operands[1], &pouring.place, err);
    if (status == PM_OK && pm_cli_value(cli, "bottle") != NULL)
        status = pm_bottle_find(cli->studio, pm_cli_value(cli, "bottle"), &pouring.bottle, err);
    if (status == PM_OK && from == NULL)
        status = pm_batch_amount(cli->studio, &pouring, cli->operands[2], &pouring.mass, err);
    if (status == PM_OK && from != NULL)
        status = read_balance(cli, from, &pouring.mass, err);
    if (pm_cli_has(cli, "sum"))
        pouring.sum = pm_mass_exact(pouring.mass, '.', sum);
    if (status == PM_OK)
        status = pm_batch_pour(cli->studio, &pouring, &over, NULL, err);
    return status == PM_OK ? tell_poured(cli, &pouring, over, err) : status;
}

static enum pm_status run_correct(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id, pour = 0;
    pm_mass mass = 0;
    enum pm_status status = pm_cli_open_batch(cli, &id, err);
    if (status == PM_OK)
        status = pm_decimal_read(cli->operands[1], 0, "The pour's number", &pour, err);
    if (status == PM_OK)
        status = pm_batch_pour_amount(cli->studio, id, pour, cli->operands[2], &mass, err);
    if (status == PM_OK)
        status = pm_batch_correct(cli->studio, id, pour, mass, pm_cli_value(cli, "note"), err);
    return status == PM_OK ? tell_batch(cli, id, "Corrected in record and ledger", err) : status;
}

static enum pm_status run_finish(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_batch_end end = {.bottle = pm_cli_has(cli, "make-bottle"),
                                     .as_name = pm_cli_value(cli, "called"),
                                     .trial = pm_cli_has(cli, "make-trial"),
                                     .even_short = pm_cli_has(cli, "short")};
    int64_t id, bottle, number;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_cli_open_batch(cli, &id, err);
    if (status == PM_OK)
        status = pm_batch_finish(cli->studio, id, &end, &bottle, &number, err);
    if (status != PM_OK)
        return status;
    if (bottle != 0)
        pm_cli_say(cli, "It stands in bottle %s.", pm_bottle_label(bottle, label));
    if (number != 0)
        pm_cli_say(cli, "As weighed it is kept as trial %lld.", (long long)number);
    return tell_batch(cli, id, "Finished", err);
}

/* `with`: the event. */
static const enum pm_batch_state paused = PM_BATCH_PAUSED, given_up = PM_BATCH_GIVEN_UP,
                                 noted = PM_BATCH_NOTE;

static enum pm_status run_mark(struct pm_cli *cli, struct pm_error *err)
{
    const enum pm_batch_state kind = *(const enum pm_batch_state *)cli->command->with;
    int64_t id;
    enum pm_status status = pm_cli_open_batch(cli, &id, err);
    if (status == PM_OK)
        status = pm_batch_mark(cli->studio, id, kind,
                               cli->operand_count > 1 ? cli->operands[1] : NULL, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Batch %lld: %s.", (long long)id, pm_batch_word(kind));
    return status;
}

static const struct pm_listing_column record_columns[] = {
    {.key = "place", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "material", .kind = PM_LISTING_TEXT},
    {.title = "material", .kind = PM_LISTING_TEXT},
    {.key = "strength_percent", .title = "%", .kind = PM_LISTING_NUMBER, .scale = 7},
    {.key = "bottle", .title = "bottle", .kind = PM_LISTING_TEXT},
    {.key = "lot", .title = "lot", .kind = PM_LISTING_TEXT},
    {.key = "target_g",
     .title = "target g",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 6, /* exactly what is asked for */
     .adds_up = true},
    {.key = "poured_g", .title = "poured g", .kind = PM_LISTING_NUMBER, .adds_up = true},
    {.key = "deviation_percent",
     .title = "off %",
     .kind = PM_LISTING_NUMBER,
     .scale = 7,
     .least = 1},
    {.key = "state", .title = "", .kind = PM_LISTING_TEXT},
    PM_CLI_WHENCE_COLUMNS,
};

/* The digits of the balance, or all that a pour has. */
static int poured_places(const struct pm_batch_record *record)
{
    int places = pm_balance_places(&record->plan.balance);
    for (size_t i = 0; i < record->count; i++) {
        const int needed = pm_balance_places_of(&record->plan.balance, record->items[i].poured);
        places = needed > places ? needed : places;
    }
    return places;
}

static enum pm_status record_as_table(struct pm_cli *cli, const struct pm_batch_record *record,
                                      struct pm_error *err)
{
    struct pm_listing table;
    const int places = poured_places(record);
    pm_listing_init(&table, PM_LISTING_COLUMNS(record_columns));
    table.sums = "all";
    pm_listing_digits(&table, "poured_g", places);
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        pm_listing_number(&table, line->place);
        pm_listing_text(&table, line->name);
        pm_listing_text(&table, line->tall);
        pm_listing_number(&table, line->strength);
        pm_listing_text(&table, line->label);
        pm_listing_text(&table, line->lot);
        pm_listing_number(&table, line->target);
        pm_listing_number(&table, line->poured / pm_cli_grams_unit(places));
        pm_listing_number(&table, pm_cli_percent(line->deviation));
        pm_listing_text(&table, line->over ? "too much" : line->done ? "done" : NULL);
        pm_cli_add_whence(&table, &line->whence);
    }
    return pm_listing_answer(&table, cli, "lines", "Nothing is poured.", err);
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    const char *print = pm_cli_value(cli, "print");
    enum pm_paper paper = PM_PAPER_TEXT;
    struct pm_batch_record record;
    struct pm_json json;
    int64_t id;
    enum pm_status status = pm_cli_open_batch(cli, &id, err);
    if (status == PM_OK)
        status = pm_batch_show(cli->studio, id, &record, err);
    if (status != PM_OK)
        return status;
    if (print != NULL && pm_paper_from_word(print, &paper)) {
        status = pm_batch_print(&record, paper, pm_decimal_sign(), &cli->out, err);
    } else if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_batch(&json, &record);
        pm_json_close(&json, '}');
    } else {
        status = record_as_table(cli, &record, err);
    }
    pm_batch_record_release(&record);
    return status;
}

static const struct pm_listing_column batch_columns[] = {
    {.key = "batch", .title = "batch", .kind = PM_LISTING_NUMBER},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_TRIAL, .title = "of"},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_MASS, .title = "g", .least = 2},
    {.key = "state", .title = "state", .kind = PM_LISTING_TEXT},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_DAY, .title = "for"},
    {.key = "made_by", .title = "by", .kind = PM_LISTING_TEXT},
    {.of = &pm_batch_entity, .which = PM_BATCH_OF_NOTE, .title = "note"},
};

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_batches list;
    struct pm_listing table;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_batches_list(cli->studio, pm_cli_has(cli, "all"), &list, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(batch_columns));
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_batch *batch = &list.items[i];
        pm_listing_number(&table, batch->id);
        pm_listing_attributes(&table, batch);
        pm_listing_text(&table, state_word(batch->state));
        pm_listing_attributes(&table, batch);
        pm_listing_text(&table, batch->made_by);
        pm_listing_attributes(&table, batch);
    }
    pm_list_release(&list);
    return pm_listing_answer(&table, cli, "batches", "No batches.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option start_options[] = {
    PM_CLI_HOW_OPTIONS,
    {.name = "by", .value = "NAME", .help = "who weighs it"},
    {.name = NULL},
};
static const struct pm_cli_option pour_options[] = {
    {.name = "from", .value = "FILE", .help = "read the balance from this device, pipe or file"},
    {.name = "wait", .value = "SPAN", .help = "for a stable reading; half a minute without it"},
    {.name = "sum", .help = "the mass is what the display shows of all pours together"},
    {.name = "bottle", .value = "BOTTLE", .help = "from this one, not the planned one"},
    {.name = "even-below", .help = "also when the ledger falls below zero"},
    {.name = "note", .value = "TEXT", .help = "anything worth knowing"},
    {.name = NULL},
};
static const struct pm_cli_option note_options[] = {
    {.name = "note", .value = "TEXT", .help = "why"},
    {.name = NULL},
};
static const struct pm_cli_option finish_options[] = {
    {.name = "make-bottle", .help = "it becomes a bottle: a made-up accord"},
    {.name = "called", .value = "NAME", .help = "of the material in that bottle, the first time"},
    {.name = "make-trial", .help = "what was weighed becomes a kept trial"},
    {.name = "short", .help = "although not everything was poured"},
    {.name = NULL},
};
static const struct pm_cli_option show_options[] = {
    {.name = "print",
     .value = "FORM",
     .words = "text|markdown|html",
     .help = "the record for paper"},
    {.name = NULL},
};
static const struct pm_cli_option list_options[] = {
    {.name = "all", .help = "also finished and given up ones"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("batch start", "F/N MASS | N", 1, 2, PM_CLI_JSON,
                   "begin to pour a batch of a kept trial, or a planned one",
                   .options = start_options, .run = run_start, .changes = true),
    PM_CLI_COMMAND("batch pour", "N LINE|next [MASS]", 2, 3, PM_CLI_JSON,
                   "what was poured of a line; bottle and record take it at once",
                   .options = pour_options, .run = run_pour, .changes = true),
    PM_CLI_COMMAND("batch correct", "N POUR MASS", 3, 3, PM_CLI_JSON,
                   "a pour was another mass in truth; the old entry stays", .options = note_options,
                   .run = run_correct, .changes = true),
    PM_CLI_COMMAND("batch finish", "N", 1, 1, PM_CLI_JSON, "a batch is done",
                   .options = finish_options, .run = run_finish, .changes = true),
    PM_CLI_COMMAND("batch pause", "N [TEXT]", 1, 2, PM_CLI_TEXT, "go on with a batch another time",
                   .run = run_mark, .with = &paused, .changes = true),
    PM_CLI_COMMAND("batch give-up", "N [TEXT]", 1, 2, PM_CLI_TEXT,
                   "nothing more is poured; what was stays poured", .run = run_mark,
                   .with = &given_up, .changes = true),
    PM_CLI_COMMAND("batch note", "N TEXT", 2, 2, PM_CLI_TEXT, "a note in a batch's record",
                   .run = run_mark, .with = &noted, .changes = true),
    PM_CLI_COMMAND("batch show", "N", 1, 1, PM_CLI_TABLE,
                   "a batch: what was meant, what was poured", .options = show_options,
                   .run = run_show),
    PM_CLI_COMMAND("batch list", "", 0, 0, PM_CLI_TABLE, "the batches, planned and being poured",
                   .options = list_options, .run = run_list),
};

const struct pm_cli_topic pm_cli_topic_batch = {
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
