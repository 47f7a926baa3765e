/* SPDX-License-Identifier: MIT */
/* Commands on trials and history: keeping, branching, going back and forth, reading what was. */
#include "bench.h"
#include "listing.h"

#include "permille/base/mem.h"
#include "permille/studio/trials.h"

#include <langinfo.h>
#include <string.h>

/* ---- back and forth ---- */

typedef enum pm_status plan_step(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 struct pm_plan **out, struct pm_error *err);

/* `with` of undo and redo. */
struct step {
    plan_step *plan;
};

static enum pm_status run_step(struct pm_cli *cli, struct pm_error *err)
{
    const struct step *with = cli->command->with;
    struct pm_sheet *sheet;
    struct pm_plan *plan;

    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = with->plan(cli->studio, sheet, &plan, err);
    if (status == PM_OK)
        status = pm_cli_carry_out(cli, plan, err);
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status run_restore(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_plan *plan;
    int64_t revision;

    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_cli_find_revision(cli, sheet->formula, cli->operands[1], &revision, err);
    if (status == PM_OK)
        status = pm_plan_restore(cli->studio, sheet, revision, &plan, err);
    if (status == PM_OK)
        status = pm_cli_carry_out(cli, plan, err);
    pm_sheet_free(sheet);
    return status;
}

/* ---- keeping, branching, labels ---- */

/* The answer of a command that made or named a kept trial. */
static enum pm_status tell_trial(struct pm_cli *cli, int64_t formula, int64_t number,
                                 const char *verb, struct pm_error *err)
{
    char after[PM_AMOUNT_TEXT];

    snprintf(after, sizeof after, "/%lld", (long long)number);
    return pm_cli_tell_formula(cli, formula, verb, after, err);
}

/* The note as given, and with --changed what changed against the trial the draft came from. */
static enum pm_status write_note(struct pm_cli *cli, const struct pm_sheet *sheet,
                                 struct pm_text *out, struct pm_error *err)
{
    const char *note = pm_cli_value(cli, "note");
    struct pm_arena arena = {0};
    const char *changed = NULL;

    enum pm_status status = PM_OK;
    if (pm_cli_has(cli, "changed"))
        status = pm_trial_changed(cli->studio, sheet->trial_id, &arena, &changed, err);
    if (note != NULL)
        pm_text_add(out, note);
    if (changed != NULL)
        pm_text_addf(out, "%s%s", out->length > 0 ? " " : "", changed);
    pm_arena_release(&arena);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

static enum pm_status run_keep(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_text note = PM_TEXT_EMPTY;
    int64_t number;

    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = write_note(cli, sheet, &note, err);
    if (status == PM_OK)
        status = pm_trial_keep(cli->studio, sheet, pm_text_get(&note), &number, err);
    if (status == PM_OK) {
        char off[PM_OFF_TEXT], after[PM_OFF_TEXT + PM_AMOUNT_TEXT];
        snprintf(after, sizeof after, "/%lld%s", (long long)number, pm_trial_off_text(sheet, off));
        status = pm_cli_tell_formula(cli, sheet->formula, "Kept as ", after, err);
    }
    pm_text_release(&note);
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status name_kept(struct pm_cli *cli, const struct pm_cli_named *named,
                                struct pm_error *err)
{
    if (named->number > 0)
        return PM_OK;
    return pm_cli_usage(cli, err, "'%s' needs a kept trial: %s/1, say.", cli->command->name,
                        cli->operands[0]);
}

static enum pm_status run_branch(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    struct pm_sheet *sheet;

    enum pm_status status = pm_cli_draft(cli, 0, &named, &sheet, err);
    if (status != PM_OK)
        return status;
    const struct pm_gesture gesture = {.kind = PM_BRANCH, .parent = named.trial};
    status = name_kept(cli, &named, err);
    if (status == PM_OK)
        status = pm_cli_gesture(cli, sheet, &gesture, err);
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status run_mark(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    const char *label = cli->operand_count > 1 ? cli->operands[1] : "";

    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK)
        status = name_kept(cli, &named, err);
    if (status == PM_OK)
        status = pm_trial_set_label(cli->studio, named.trial, label, err);
    if (status == PM_OK)
        status = tell_trial(cli, named.formula, named.number,
                            label[0] != '\0' ? "Labelled " : "Took the label off ", err);
    return status;
}

/* ---- lists ---- */

static const struct pm_listing_column trial_columns[] = {
    {.key = "trial", .kind = PM_LISTING_NUMBER},
    {.title = "trial", .kind = PM_LISTING_TEXT}, /* indented as a tree */
    {.key = "parent", .title = "from", .kind = PM_LISTING_NUMBER},
    {.key = "kept_at", .title = "kept", .kind = PM_LISTING_TIME},
    {.key = "lines", .title = "lines", .kind = PM_LISTING_NUMBER},
    {.key = "base_parts", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "total_parts", .title = "total", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "smells", .kind = PM_LISTING_NUMBER},
    {.key = "batches", .kind = PM_LISTING_NUMBER},
    {.key = "set_aside", .kind = PM_LISTING_BOOL},
    {.key = "label", .kind = PM_LISTING_TEXT},
    {.key = "changed", .kind = PM_LISTING_TEXT},
    {.key = "note", .kind = PM_LISTING_TEXT},
    {.title = "used", .kind = PM_LISTING_TEXT},
    {.title = "label", .kind = PM_LISTING_TEXT},
    {.title = "changed", .kind = PM_LISTING_TEXT},
    {.title = "note", .kind = PM_LISTING_TEXT},
};

static const char *used_words(const struct pm_trial_entry *trial)
{
    if (trial->batches > 0)
        return trial->smells > 0 ? "weighed, smelled" : "weighed";
    return trial->smells > 0 ? "smelled" : "";
}

static void add_trial(struct pm_listing *table, const struct pm_trial_entry *trial, bool as_tree)
{
    struct pm_text title = PM_TEXT_EMPTY;

    if (as_tree) {
        pm_trial_tree(trial, strcmp(nl_langinfo(CODESET), "UTF-8") == 0, &title);
        pm_text_add_char(&title, ' ');
    }
    pm_text_addf(&title, "%lld%s", (long long)trial->row.number,
                 trial->row.set_aside ? " (set aside)" : "");
    pm_listing_number(table, trial->row.number);
    pm_listing_made(table, &title);
    pm_listing_number_if(table, trial->parent_number > 0, trial->parent_number);
    pm_listing_time(table, trial->row.kept_at);
    pm_listing_number(table, (int64_t)trial->row.lines);
    pm_listing_number(table, trial->row.base);
    pm_listing_number(table, trial->row.total);
    pm_listing_number(table, trial->smells);
    pm_listing_number(table, trial->batches);
    pm_listing_bool(table, trial->row.set_aside);
    pm_listing_text(table, trial->row.label);
    pm_listing_text(table, trial->changed);
    pm_listing_text(table, trial->row.note);
    pm_listing_text(table, used_words(trial));
    pm_listing_text(table, trial->row.label != NULL ? trial->row.label : "");
    pm_listing_text(table, trial->changed != NULL ? trial->changed : "");
    pm_listing_text(table, trial->row.note != NULL ? trial->row.note : "");
    pm_text_release(&title);
}

static enum pm_status run_trials(struct pm_cli *cli, struct pm_error *err)
{
    const bool as_tree = pm_cli_has(cli, "tree");
    struct pm_cli_named named;
    struct pm_trial_entries list;
    struct pm_listing table;

    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK)
        status = pm_trials_list(cli->studio, named.formula,
                                PM_TRIALS_CHANGED | (as_tree ? PM_TRIALS_TREE : 0) |
                                    (pm_cli_has(cli, "in-sight") ? PM_TRIALS_IN_SIGHT : 0),
                                &list, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(trial_columns));
    for (size_t i = 0; i < list.count; i++)
        add_trial(&table, &list.items[i], as_tree);
    pm_list_release(&list);
    return pm_cli_answer_about(cli, &table, named.formula, "trials", "No trial has been kept yet.",
                               err);
}

static const struct pm_listing_column revision_columns[] = {
    {.key = "revision", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "at", .title = "at", .kind = PM_LISTING_TIME},
    {.key = "gesture", .kind = PM_LISTING_TEXT},
    {.key = "sentence", .title = "what", .kind = PM_LISTING_TEXT},
    {.key = "undone", .kind = PM_LISTING_BOOL},
    {.key = "is_head", .kind = PM_LISTING_BOOL},
    {.key = "trial", .kind = PM_LISTING_NUMBER},
    {.title = "", .kind = PM_LISTING_TEXT},
};

static void add_revision(struct pm_listing *table, const struct pm_revision_entry *revision)
{
    pm_listing_number(table, revision->row.number);
    pm_listing_time(table, revision->row.at);
    pm_listing_text(table, revision->row.gesture);
    pm_listing_text(table, revision->row.sentence);
    pm_listing_bool(table, revision->row.undone);
    pm_listing_bool(table, revision->is_head);
    pm_listing_number_if(table, revision->trial_number > 0, revision->trial_number);
    pm_listing_text(table, revision->row.undone ? "undone" : revision->is_head ? "the draft" : "");
}

static enum pm_status run_history(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named;
    struct pm_revision_entries list;
    struct pm_listing table;

    enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status == PM_OK)
        status = pm_history_list(cli->studio, named.formula, named.number > 0 ? named.number : -1,
                                 pm_cli_value(cli, "find"), &list, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(revision_columns));
    for (size_t i = 0; i < list.count; i++)
        add_revision(&table, &list.items[i]);
    pm_list_release(&list);
    return pm_cli_answer_about(cli, &table, named.formula, "revisions", "No revisions.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option try_options[] = {
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_option keep_options[] = {
    {.name = "note", .value = "TEXT", .help = "why, in your own words"},
    {.name = "changed",
     .help = "add to the note what changed against the trial the draft was started from"},
    {.name = NULL},
};

static const struct pm_cli_option trials_options[] = {
    {.name = "tree", .help = "branches below the trial they started from"},
    {.name = "in-sight", .help = "leave out what was set aside, but for what others started from"},
    {.name = NULL},
};

static const struct pm_cli_option history_options[] = {
    {.name = "find", .value = "TEXT", .help = "only what says so"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("undo", "F", 1, 1, PM_CLI_JSON, "go one revision back", .options = try_options,
                   .run = run_step, .with = &(const struct step){pm_plan_undo}, .changes = true),
    PM_CLI_COMMAND("redo", "F", 1, 1, PM_CLI_JSON, "go one revision forward again",
                   .options = try_options, .run = run_step,
                   .with = &(const struct step){pm_plan_redo}, .changes = true),
    PM_CLI_COMMAND("keep", "F", 1, 1, PM_CLI_JSON, "seal the draft as the next trial",
                   .options = keep_options, .run = run_keep, .changes = true),
    PM_CLI_COMMAND("branch", "F/N", 1, 1, PM_CLI_JSON, "start the draft from a kept trial",
                   .options = try_options, .run = run_branch, .changes = true),
    PM_CLI_COMMAND(
        "restore", "F REVISION", 2, 2, PM_CLI_JSON,
        "bring the draft back to what it was right after a revision",
        .more = "Revisions are numbered in 'history'. This too is a gesture and can be undone.",
        .options = try_options, .run = run_restore, .changes = true),
    PM_CLI_COMMAND("mark", "F/N [LABEL]", 1, 2, PM_CLI_JSON,
                   "give a kept trial a label; without LABEL take it off", .run = run_mark,
                   .changes = true),
    PM_CLI_COMMAND("trials", "F", 1, 1, PM_CLI_TABLE, "list a formula's kept trials",
                   .options = trials_options, .run = run_trials),
    PM_CLI_COMMAND("history", "F[/N]", 1, 1, PM_CLI_TABLE,
                   "list what was done to a formula, or what led to a kept trial",
                   .options = history_options, .run = run_history),
};

const struct pm_cli_topic pm_cli_topic_trials = {
    .title = "Trials and history",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
