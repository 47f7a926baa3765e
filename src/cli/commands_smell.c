/* SPDX-License-Identifier: MIT */
/* Commands on the smell log and the running session. */
#include "bench.h"
#include "listing.h"

#include "permille/base/mem.h"
#include "permille/studio/blotter.h"
#include "permille/studio/trials.h"

#include <string.h>

#define PLOT_WIDTH  78
#define PLOT_HEIGHT 16

/* ---- what was done ---- */

static void tell_done(struct pm_cli *cli, const char *key, struct pm_smell_done *done)
{
    struct pm_json json;

    const bool answers = pm_cli_tell_begin(cli, done->sentence, &json);
    if (done->remark != NULL)
        pm_cli_say(cli, "%s", done->remark);
    if (answers) {
        pm_json_put_int(&json, key, done->id);
        pm_json_put_string(&json, "remark", done->remark);
        pm_json_close(&json, '}');
    }
    pm_smell_done_release(done);
}

/* ---- smell ---- */

static enum pm_status run_smell(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_smell_form form = {.withdraw = pm_cli_has(cli, "withdraw")};
    struct pm_smell_done done;

    if (cli->operand_count == 0 && !pm_cli_has(cli, "of") && !pm_cli_has(cli, "correct"))
        return pm_cli_usage(cli, err, "What was smelled? Name a kept trial, like F/3.");
    if (form.withdraw && !pm_cli_has(cli, "correct"))
        return pm_cli_usage(cli, err, "'--withdraw' needs '--correct ID': which note?");
    pm_cli_entity_values(cli, form.values);
    form.values[PM_SMELL_TRIAL] = cli->operand_count > 0 ? cli->operands[0] : NULL;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_smells_log(cli->studio, &form, &done, err);
    if (status == PM_OK)
        tell_done(cli, "smell", &done);
    return status;
}

/* ---- smells ---- */

static const struct pm_listing_column smell_columns[] = {
    {.key = "smell", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "trial", .title = "trial", .kind = PM_LISTING_NUMBER},
    {.of = &pm_smell_entity, .which = PM_SMELL_MEDIUM, .title = "on"},
    {.of = &pm_smell_entity, .which = PM_SMELL_SINCE},
    {.title = "after", .kind = PM_LISTING_TEXT},
    {.key = "stage", .title = "stage", .kind = PM_LISTING_TEXT},
    {.of = &pm_smell_entity, .which = PM_SMELL_INTENSITY, .title = "intensity"},
    {.of = &pm_smell_entity, .which = PM_SMELL_LIKING, .title = "liking"},
    {.of = &pm_smell_entity, .which = PM_SMELL_STRENGTH},
    {.of = &pm_smell_entity, .which = PM_SMELL_WHEN, .title = "smelled"},
    {.key = "entered_at", .kind = PM_LISTING_TIME},
    {.of = &pm_smell_entity, .which = PM_SMELL_ASSESSOR},
    {.of = &pm_smell_entity, .which = PM_SMELL_SESSION},
    {.of = &pm_smell_entity, .which = PM_SMELL_CORRECTS},
    {.key = "corrected_by", .kind = PM_LISTING_NUMBER},
    {.key = "withdrawn", .kind = PM_LISTING_BOOL},
    {.of = &pm_smell_entity, .which = PM_SMELL_NOTE},
    {.title = "note", .kind = PM_LISTING_TEXT},
};

static void add_known(struct pm_listing *table, int64_t value, int64_t unknown)
{
    pm_listing_number_if(table, value != unknown, value);
}

/* The note as a reader of the table sees it: whose it is and what became of it stand before. */
static void add_note(struct pm_listing *table, const struct pm_smell *smell)
{
    struct pm_text text = PM_TEXT_EMPTY;

    if (smell->corrected_by != 0)
        pm_text_addf(&text, "(corrected by %lld) ", (long long)smell->corrected_by);
    if (smell->withdrawn)
        pm_text_addf(&text, "(takes back %lld) ", (long long)smell->corrects);
    else if (smell->corrects != 0)
        pm_text_addf(&text, "(corrects %lld) ", (long long)smell->corrects);
    if (smell->assessor != NULL)
        pm_text_addf(&text, "%s: ", smell->assessor);
    pm_text_add(&text, smell->note != NULL ? smell->note : "");
    pm_listing_made(table, &text);
    pm_text_release(&text);
}

static void add_smell(struct pm_listing *table, const struct pm_smell *smell)
{
    char span[PM_TIME_TEXT];

    pm_listing_number(table, smell->id);
    pm_listing_number(table, smell->number);
    pm_listing_attributes(table, smell);
    pm_listing_text(table, smell->since == 0 ? "at once" : pm_span_about(smell->since, span));
    pm_listing_text(table, pm_stage_word(pm_stage_at(smell->since, NULL)));
    pm_listing_attributes(table, smell);
    pm_listing_time(table, smell->entered_at);
    pm_listing_attributes(table, smell);
    add_known(table, smell->corrected_by, 0);
    pm_listing_bool(table, smell->withdrawn);
    pm_listing_attributes(table, smell);
    add_note(table, smell);
}

static enum pm_status list_smells(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    struct pm_smells list;
    struct pm_listing table;
    const char *remark;

    if (cli->operand_count > 1)
        return pm_cli_usage(cli, err,
                            "Several trials are for '--plot'; name one formula or trial.");
    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK)
        status = pm_smells_list(cli->studio, named.formula, named.number, pm_cli_has(cli, "all"),
                                &list, &remark, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(smell_columns));
    for (size_t i = 0; i < list.count; i++)
        add_smell(&table, &list.items[i]);
    status = pm_cli_answer_about(cli, &table, named.formula, "smells",
                                 "Nothing of it has been smelled yet.", err);
    if (status == PM_OK && remark != NULL)
        pm_cli_say(cli, "%s", remark);
    pm_list_release(&list);
    return status;
}

/* ---- drawn ---- */

/* The trials meant: those named; for a formula without number all that were smelled. */
static enum pm_status add_trials(struct pm_cli *cli, size_t at, int64_t *trials, size_t *count,
                                 struct pm_error *err)
{
    struct pm_cli_named named;
    struct pm_trial_entries list;

    enum pm_status status = pm_cli_name(cli, at, &named, err);
    if (status != PM_OK)
        return status;
    if (named.number > 0) {
        if (*count < PM_PLOT_SERIES_MAX)
            trials[(*count)++] = named.trial;
        return PM_OK;
    }
    status = pm_trials_list(cli->studio, named.formula, 0, &list, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < list.count; i++) {
        if (list.items[i].smells == 0)
            continue;
        if (*count == PM_PLOT_SERIES_MAX)
            status = pm_fail(err, PM_REFUSED, "More than %d trials were smelled; name some.",
                             PM_PLOT_SERIES_MAX);
        else
            trials[(*count)++] = list.items[i].row.id;
    }
    pm_list_release(&list);
    return status;
}

static void write_picture(struct pm_cli *cli, const struct pm_smell_picture *picture)
{
    struct pm_json json;

    if (cli->form != PM_CLI_JSON) {
        pm_cli_add_drawing(cli, picture->plot.rows, picture->plot.count);
        for (size_t i = 0; i < picture->count; i++) {
            pm_cli_add_shown(&cli->out, picture->sentences[i]);
            pm_text_add(&cli->out, "\n");
        }
        return;
    }
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_open(&json, "plot", '[');
    for (size_t i = 0; i < picture->plot.count; i++)
        pm_json_string(&json, picture->plot.rows[i]);
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "sentences", '[');
    for (size_t i = 0; i < picture->count; i++)
        pm_json_string(&json, picture->sentences[i]);
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
}

static enum pm_status plot_smells(struct pm_cli *cli, struct pm_error *err)
{
    int64_t trials[PM_PLOT_SERIES_MAX];
    size_t count = 0;
    struct pm_smell_picture picture;
    enum pm_status status = PM_OK;

    for (size_t i = 0; status == PM_OK && i < cli->operand_count; i++)
        status = add_trials(cli, i, trials, &count, err);
    if (status != PM_OK)
        return status;
    if (count == 0) {
        pm_cli_say(cli, "Nothing of it has been smelled yet.");
        if (cli->form == PM_CLI_TEXT)
            return PM_OK;
    }
    status = pm_smells_plot(cli->studio, trials, count, PLOT_WIDTH, PLOT_HEIGHT, &picture, err);
    if (status != PM_OK)
        return status;
    write_picture(cli, &picture);
    pm_smell_picture_release(&picture);
    return PM_OK;
}

/* ---- words ---- */

static const struct pm_listing_column word_columns[] = {
    {.key = "stage", .title = "stage", .kind = PM_LISTING_TEXT},
    {.key = "word", .title = "word", .kind = PM_LISTING_TEXT},
    {.key = "count", .title = "times", .kind = PM_LISTING_NUMBER},
};

static enum pm_status count_words(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    struct pm_words words[PM_STAGES];
    struct pm_listing table;

    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK)
        status = pm_smells_words(cli->studio, named.formula, named.number, words, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(word_columns));
    for (size_t s = 0; s < PM_STAGES; s++)
        for (size_t i = 0; i < words[s].count; i++) {
            pm_listing_text(&table, pm_stage_word((enum pm_stage)s));
            pm_listing_text(&table, words[s].items[i].text);
            pm_listing_number(&table, (int64_t)words[s].items[i].count);
        }
    pm_words_release(words);
    return pm_listing_answer(&table, cli, "words", "No words have been noted yet.", err);
}

/* ---- the session ---- */

static const struct pm_listing_column session_columns[] = {
    {.key = "session", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "trial", .title = "trial", .kind = PM_LISTING_TEXT},
    {.of = &pm_session_entity, .which = PM_SESSION_MEDIUM, .title = "on"},
    {.of = &pm_session_entity, .which = PM_SESSION_STRENGTH},
    {.of = &pm_session_entity, .which = PM_SESSION_WHEN, .title = "put on"},
    {.key = "ended_at", .kind = PM_LISTING_TIME},
    {.key = "since_s", .kind = PM_LISTING_NUMBER},
    {.title = "since", .kind = PM_LISTING_TEXT},
    {.key = "smells", .title = "smelled", .kind = PM_LISTING_NUMBER},
    {.key = "due", .kind = PM_LISTING_BOOL},
    {.key = "due_after_s", .kind = PM_LISTING_NUMBER},
    {.key = "due_at", .kind = PM_LISTING_TIME},
    {.key = "late_s", .kind = PM_LISTING_NUMBER},
    {.key = "state", .title = "", .kind = PM_LISTING_TEXT},
    {.of = &pm_session_entity, .which = PM_SESSION_SCHEDULE},
    {.of = &pm_session_entity, .which = PM_SESSION_NOTE},
    {.key = "remark", .kind = PM_LISTING_TEXT},
    {.title = "note", .kind = PM_LISTING_TEXT},
};

static void add_session(struct pm_listing *table, const struct pm_session_entry *entry)
{
    char span[PM_TIME_TEXT];
    const bool ahead = entry->row.ended_at == 0 && !entry->due.over;

    pm_listing_number(table, entry->row.id);
    pm_listing_text(table, entry->title);
    pm_listing_attributes(table, &entry->row);
    add_known(table, entry->row.ended_at, 0);
    pm_listing_number(table, entry->since);
    pm_listing_text(table, pm_span_about(entry->since, span));
    pm_listing_number(table, (int64_t)entry->smelled);
    pm_listing_bool(table, entry->due.now);
    add_known(table, entry->due_since, -1);
    add_known(table, ahead ? entry->row.applied_at + entry->due_since : 0, 0);
    add_known(table, entry->due.now ? entry->due.late : -1, -1);
    pm_listing_text(table, entry->state);
    pm_listing_attributes(table, &entry->row);
    pm_listing_text(table, entry->remark);
    pm_listing_text(table, entry->row.note != NULL ? entry->row.note : "");
}

/* What is running; with due_only what is to be smelled now. */
static enum pm_status answer_session(struct pm_cli *cli, bool ended_too, bool due_only,
                                     const struct pm_cli_named *only, size_t *due,
                                     struct pm_error *err)
{
    struct pm_session_entries list;
    struct pm_listing table;

    enum pm_status status = pm_session_list(cli->studio, ended_too, &list, err);
    if (status != PM_OK)
        return status;
    *due = 0;
    pm_listing_init(&table, PM_LISTING_COLUMNS(session_columns));
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_session_entry *entry = &list.items[i];
        if (only->formula != 0 && entry->row.formula != only->formula)
            continue;
        if (only->number != 0 && entry->row.number != only->number)
            continue;
        *due += entry->due.now;
        if (!due_only || entry->due.now)
            add_session(&table, entry);
        if (entry->remark != NULL)
            pm_cli_say(cli, "%lld: %s", (long long)entry->row.id, entry->remark);
    }
    pm_list_release(&list);
    return pm_listing_answer(&table, cli, due_only ? "due" : "session",
                             due_only ? "Nothing is to be smelled now." : "Nothing is running.",
                             err);
}

static enum pm_status run_due(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named only = {.formula = 0};
    size_t due = 0;

    enum pm_status status =
        cli->operand_count > 0 ? pm_cli_name(cli, 0, &only, err) : pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = answer_session(cli, false, true, &only, &due, err);
    if (status == PM_OK && due == 0)
        cli->outcome = PM_CLI_REFUSED;
    return status;
}

static enum pm_status run_smells(struct pm_cli *cli, struct pm_error *err)
{
    const int views = pm_cli_has(cli, "due") + pm_cli_has(cli, "plot") + pm_cli_has(cli, "words");

    if (views > 1)
        return pm_cli_usage(cli, err, "One of '--due', '--plot' and '--words' at a time.");
    if (pm_cli_has(cli, "due"))
        return run_due(cli, err);
    if (cli->operand_count == 0)
        return pm_cli_usage(cli, err, "Name a formula or a kept trial, or ask what is '--due'.");
    if (pm_cli_has(cli, "plot"))
        return plot_smells(cli, err);
    return pm_cli_has(cli, "words") ? count_words(cli, err) : list_smells(cli, err);
}

static enum pm_status run_session_start(struct pm_cli *cli, struct pm_error *err)
{
    const char *values[PM_SESSION_ATTRIBUTES];
    struct pm_smell_done done;

    pm_cli_entity_values(cli, values);
    values[PM_SESSION_TRIAL] = cli->operands[0];
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_session_start(cli->studio, values, &done, err);
    if (status == PM_OK)
        tell_done(cli, "session", &done);
    return status;
}

typedef enum pm_status change_one(struct pm_studio *studio, int64_t id, struct pm_smell_done *out,
                                  struct pm_error *err);

/* `with` of the commands that change one session. */
struct session_change {
    change_one *change;
};

static enum pm_status run_session_change(struct pm_cli *cli, struct pm_error *err)
{
    const struct session_change *with = cli->command->with;
    struct pm_smell_done done;
    int64_t id;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_session_find(cli->studio, cli->operands[0], &id, err);
    if (status == PM_OK)
        status = with->change(cli->studio, id, &done, err);
    if (status == PM_OK)
        tell_done(cli, "session", &done);
    return status;
}

static enum pm_status run_session_list(struct pm_cli *cli, struct pm_error *err)
{
    const struct pm_cli_named all = {.formula = 0};
    size_t due;

    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? answer_session(cli, pm_cli_has(cli, "all"), false, &all, &due, err)
                           : status;
}

static enum pm_status run_schedule(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_json json;
    char *text;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK && cli->operand_count > 0)
        status = pm_session_set_schedule(cli->studio, cli->operands[0], err);
    if (status == PM_OK)
        status = pm_session_schedule(cli->studio, &text, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "schedule", text);
        pm_json_close(&json, '}');
    } else {
        pm_text_addf(&cli->out, "%s\n", text);
    }
    pm_free(text);
    return PM_OK;
}

/* ---- the table ---- */

static const struct pm_cli_option smell_options[] = {
    {.name = "withdraw", .help = "take that note back and put nothing in its place"},
    {.name = NULL},
};

static const struct pm_cli_option smells_options[] = {
    {.name = "due", .help = "what is to be smelled now; exit status 1 when nothing is"},
    {.name = "plot", .help = "intensity over time, drawn and told"},
    {.name = "words", .help = "words of the notes, counted by stage"},
    {.name = "all", .help = "also notes that were corrected or taken back"},
    {.name = NULL},
};

static const struct pm_cli_option list_options[] = {
    {.name = "all", .help = "also what was stopped"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "smell", "[F/N]", 0, 1, PM_CLI_JSON, "note what a kept trial smells like",
        .more = "In a running session the time is measured; otherwise '--at' tells it. A note is "
                "never changed: '--correct ID' writes another in its place. Skin: a patch test "
                "proves little, and people can become sensitised for life.",
        .options = smell_options, .entity = &pm_smell_entity, .without = "trial", .run = run_smell,
        .changes = true),
    PM_CLI_COMMAND("smells", "[F[/N]]...", 0, -1, PM_CLI_TABLE,
                   "read the smell log, or ask what is due", .options = smells_options,
                   .run = run_smells),
    PM_CLI_COMMAND(
        "session start", "F/N", 1, 1, PM_CLI_JSON,
        "put a kept trial on a blotter or skin, to be smelled over time",
        .more = "Any number can run at once. Each goes on until it is stopped, whether the program "
                "runs or not.",
        .entity = &pm_session_entity, .without = "trial", .run = run_session_start,
        .changes = true),
    PM_CLI_COMMAND("session stop", "ID|F/N", 1, 1, PM_CLI_JSON, "stop smelling one of them",
                   .run = run_session_change,
                   .with = &(const struct session_change){pm_session_stop}, .changes = true),
    PM_CLI_COMMAND("session resume", "ID", 1, 1, PM_CLI_JSON, "take one up again that was stopped",
                   .run = run_session_change,
                   .with = &(const struct session_change){pm_session_resume}, .changes = true),
    PM_CLI_COMMAND("session list", "", 0, 0, PM_CLI_TABLE,
                   "list what is running and when to smell it", .options = list_options,
                   .run = run_session_list),
    PM_CLI_COMMAND(
        "schedule", "[TIMES]", 0, 1, PM_CLI_JSON, "show or set the times at which to smell",
        .more = "TIMES stand after application, like \"0, 5min, 1h, 1d\"; \"\" sets the usual ones "
                "back. What is running keeps the schedule it was started with.",
        .run = run_schedule, .changes = true),
};

const struct pm_cli_topic pm_cli_topic_smell = {
    .title = "Smelling",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
