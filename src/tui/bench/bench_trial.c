/* SPDX-License-Identifier: MIT */
/* The Bench: keeping, branching, looking back, the flat view. */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

/* ---- keeping ---- */

static enum pm_status keep_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    struct pm_studio *studio = bench->house->studio;
    struct pm_error why = {0};
    int64_t number;
    char off[PM_OFF_TEXT];
    pm_trial_off_text(bench->sheet, off);
    enum pm_status status = pm_trial_keep(studio, bench->sheet, *text ? text : NULL, &number, err);
    if (status != PM_OK)
        return status;
    pm_app_changed(bench->app, PM_ROOM_BENCH);
    if (bench_reload(bench, &why) != PM_OK)
        pm_app_error(bench->app, &why);
    else
        pm_app_say(bench->app, "Kept as %s/%lld%s; the draft goes on from it. Saved.",
                   bench->sheet->name, (long long)number, off);
    return PM_OK;
}

/* Tab: what changed against the trial the draft came from, then the sentence copied last. */
static bool keep_complete(void *context, const char *before, size_t round, struct pm_text *out)
{
    struct bench *bench = context;
    struct pm_arena arena = {0};
    const char *changed = NULL;
    const char *copied = bench->house->copied;
    pm_trial_changed(bench->house->studio, bench->sheet->trial_id, &arena, &changed, NULL);
    const char *offers[2] = {changed != NULL ? changed : copied, changed != NULL ? copied : NULL};
    bool found = round < 2 && offers[round] != NULL;
    if (found)
        pm_text_addf(out, "%s%s%s", before, *before ? " " : "", offers[round]);
    pm_arena_release(&arena);
    return found;
}

static void bench_keep(struct pm_app *app)
{
    struct bench *bench = pm_app_room_state(app, PM_ROOM_BENCH);
    struct pm_text title = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    if (bench == NULL || !bench_editable(bench))
        return;
    /* Said before a note is asked for. */
    if (pm_trial_may_keep(bench->house->studio, bench->sheet, &err) != PM_OK) {
        pm_app_error(app, &err);
        return;
    }
    pm_text_addf(&title, "Keep the draft as %s/%lld", bench->sheet->name,
                 (long long)bench->sheet->kept + 1);
    const struct pm_prompt_spec spec = {.title = pm_text_get(&title),
                                        .label = "Note (Tab: what changed)",
                                        .limit = 4000,
                                        .complete = keep_complete,
                                        .accept = keep_accept,
                                        .writes = true,
                                        .context = bench};
    pm_prompt_open(app, &spec);
    pm_text_release(&title);
}

void pm_bench_keep_here(void *state)
{
    bench_keep(pm_app_of(state));
}

/* ---- back to the draft, and from what is shown ---- */

static void show_draft(struct bench *bench)
{
    struct pm_error err = {0};
    if (pm_bench_show_draft(bench->app, bench->sheet->formula, &err) != PM_OK)
        pm_app_error(bench->app, &err);
}

/* Shows the draft, then replaces its content by a plan made on it. */
static enum pm_status bring_back(struct bench *bench, int64_t formula, int64_t trial,
                                 int64_t revision, struct pm_error *err)
{
    struct pm_plan *plan;
    struct pm_gesture gesture = {.kind = PM_BRANCH, .parent = trial};
    if (bench_unwritten(bench))
        return bench_refuse(bench, err);
    enum pm_status status = pm_bench_show_draft(bench->app, formula, err);
    if (status == PM_OK && trial)
        status = pm_plan_gesture(bench->house->studio, bench->sheet, &gesture, &plan, err);
    else if (status == PM_OK)
        status = pm_plan_restore(bench->house->studio, bench->sheet, revision, &plan, err);
    if (status == PM_OK)
        bench_write(bench, plan, NULL);
    return status;
}

enum pm_status pm_bench_branch(struct pm_app *app, int64_t trial, struct pm_error *err)
{
    struct bench *bench = pm_app_room_state(app, PM_ROOM_BENCH);
    if (bench == NULL || bench->sheet == NULL)
        return pm_fail(err, PM_MISSING, "No formula is open.");
    return bring_back(bench, bench->sheet->formula, trial, 0, err);
}

void bench_branch(void *state)
{
    struct bench *bench = state;
    struct pm_error err = {0};
    const struct pm_sheet *sheet = bench->sheet;
    if (sheet == NULL || !sheet->read_only) {
        pm_app_say(bench->app, "This is the draft already; a kept trial or revision can be "
                               "branched from when it is shown.");
        return;
    }
    int64_t trial = bench->looked_at ? 0 : sheet->trial_id;
    if (bring_back(bench, sheet->formula, trial, bench->looked_at, &err) != PM_OK)
        pm_app_error(bench->app, &err);
}

/* ---- revisions ---- */

struct revisions {
    struct bench *bench;
    int64_t number; /* as pm_history_list */
    struct pm_revision_entries found;
};

static void revisions_closed(void *context)
{
    struct revisions *revisions = context;
    pm_list_release(&revisions->found);
}

static size_t revisions_filter(void *context, const char *text, bool *more)
{
    struct revisions *revisions = context;
    struct pm_error err = {0};
    const struct bench *bench = revisions->bench;
    (void)more;
    pm_list_release(&revisions->found);
    if (pm_history_list(bench->house->studio, bench->house->formula, revisions->number, text,
                        &revisions->found, &err) != PM_OK) {
        pm_app_error(bench->app, &err);
        revisions->found = (struct pm_revision_entries){0};
    }
    return revisions->found.count;
}

/* Newest first: what one looks for is mostly near. */
static const struct pm_revision_entry *revision_at(const struct revisions *revisions, size_t index)
{
    return &revisions->found.items[revisions->found.count - 1 - index];
}

static void revisions_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct revisions *revisions = context;
    const struct pm_revision_entry *entry = revision_at(revisions, index);
    char time[PM_TIME_TEXT];
    pm_text_addf(&row->cells[0], "%lld", (long long)entry->row.number);
    pm_text_add(&row->cells[1], pm_time_format(entry->row.at, time));
    pm_text_add(&row->cells[2], entry->row.undone ? "undone" : entry->is_head ? "now" : "");
    pm_text_add(&row->cells[3], entry->row.sentence);
    row->role = entry->row.undone ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
}

static enum pm_status revisions_accept(void *context, size_t index, const char *text,
                                       struct pm_error *err)
{
    struct revisions *revisions = context;
    struct pm_app *app = revisions->bench->app;
    (void)text;
    return pm_bench_show_revision(app, revision_at(revisions, index), err);
}

void pm_bench_revisions(struct pm_app *app, int64_t number)
{
    struct bench *bench = pm_app_room_state(app, PM_ROOM_BENCH);
    if (bench == NULL || bench->sheet == NULL) {
        pm_app_say(app, "No formula is open.");
        return;
    }
    struct revisions revisions = {.bench = bench, .number = number};
    struct pm_text title = PM_TEXT_EMPTY;
    pm_text_addf(&title, "Revisions of %s", bench->sheet->name);
    if (number > 0)
        pm_text_addf(&title, "/%lld", (long long)number);
    const struct pm_picker_spec spec = {
        .title = pm_text_get(&title),
        .label = "With the words",
        .columns = {{.heading = "no.", .wish = 5, .align = PM_ALIGN_RIGHT},
                    {.heading = "when", .wish = 16},
                    {.heading = "", .wish = 6},
                    {.heading = "what", .wish = 4, .grows = true}},
        .column_count = 4,
        .filter = revisions_filter,
        .row = revisions_row,
        .accept = revisions_accept,
        .none_hint = "No revision says so.",
        .none_yet = "Nothing has been changed in it yet.",
        .whole = 2,
        .closed = revisions_closed,
        .context = &revisions,
        .context_size = sizeof revisions,
    };
    pm_picker_open(app, &spec);
    pm_text_release(&title);
}

void bench_revisions(void *state)
{
    const struct bench *bench = state;
    pm_bench_revisions(bench->app, -1);
}

/* ---- the flat view ---- */

#define FLAT_CELLS 78 /* of a row */
#define FLAT_NAME  16 /* of a name at least */

/* How the flat view is printed, worked out for all of it. */
struct flat_print {
    pm_fine *amounts; /* neat of every line, then what comes as solvent; rounded; owned */
    struct pm_column_total totals[2];
    int name, amount, share; /* cells */
};

/* Text in a field of `cells` cells, blanks behind it (or, when `right`, before it). */
static void add_field(struct pm_text *out, const char *text, int cells, bool right)
{
    int used = (int)pm_utf8_cells(text);
    for (int i = used; right && i < cells; i++)
        pm_text_add_char(out, ' ');
    pm_text_add_bytes(out, text, pm_utf8_fit(text, (size_t)cells));
    for (int i = used; !right && i < cells; i++)
        pm_text_add_char(out, ' ');
}

/* The two columns add up together: their totals as printed, then each column to its own. */
static bool flat_round(struct flat_print *print, size_t count, int least)
{
    pm_fine both[2] = {0, 0};
    struct pm_column_total all;
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < count; i++)
            both[c] += print->amounts[c * count + i];
    if (pm_round_column(both, 2, 12, least, both, &all, NULL) != PM_OK)
        return false;
    for (size_t c = 0; c < 2; c++) {
        pm_fine *column = print->amounts + c * count;
        print->totals[c] = pm_column_measure(&both[c], 1, 12, least);
        if (pm_round_column_to(column, count, column, &print->totals[c], NULL) != PM_OK)
            return false;
    }
    return true;
}

static void add_fine(struct pm_text *out, const struct flat_print *print, size_t column,
                     pm_fine amount, char sign)
{
    char number[PM_AMOUNT_TEXT];
    add_field(out, amount ? pm_column_row_text(&print->totals[column], amount, sign, number) : "",
              print->amount, true);
}

static bool flat_read(const struct pm_house *house, struct flat_print *print,
                      const struct pm_flat_sheet *flat)
{
    char text[PM_AMOUNT_TEXT + 8];
    *print = (struct flat_print){.amount = 12, .share = 9};
    print->amounts = pm_alloc_array(2 * flat->count, sizeof *print->amounts);
    if (print->amounts == NULL)
        return false;
    for (size_t i = 0; i < flat->count; i++) {
        print->amounts[i] = flat->lines[i].neat;
        print->amounts[flat->count + i] = flat->lines[i].as_solvent;
        int share = 1 + (int)pm_utf8_cells(bench_share_text(house, flat->lines[i].share, text));
        print->share = share > print->share ? share : print->share;
    }
    if (!flat_round(print, flat->count, house->settings.decimals))
        return false;
    for (size_t c = 0; c < 2; c++) {
        int amount = 1 + pm_column_cells(&print->totals[c]);
        print->amount = amount > print->amount ? amount : print->amount;
    }
    print->name = FLAT_CELLS - 2 * print->amount - print->share;
    print->name = print->name > FLAT_NAME ? print->name : FLAT_NAME;
    return true;
}

static void flat_heading(struct pm_page *page, const struct flat_print *print)
{
    struct pm_text line = PM_TEXT_EMPTY;
    add_field(&line, "material", print->name, false);
    add_field(&line, "neat", print->amount, true);
    add_field(&line, "as solvent", print->amount, true);
    add_field(&line, "share", print->share, true);
    pm_page_add(page, PM_ROLE_FAINT, 2, pm_text_get(&line));
    pm_text_release(&line);
}

static struct pm_page *flat_page(const struct pm_house *house, const struct pm_sheet *sheet,
                                 const struct pm_flat_sheet *flat, const struct flat_print *print)
{
    const char sign = house->sign;
    struct pm_text line = PM_TEXT_EMPTY;
    char share[PM_AMOUNT_TEXT + 8];
    pm_text_addf(&line, "%s, every accord and dilution resolved", sheet->name);
    struct pm_page *page = pm_page_new(pm_text_get(&line));
    flat_heading(page, print);
    for (size_t i = 0; i < flat->count; i++) {
        pm_text_clear(&line);
        add_field(&line, flat->lines[i].name, print->name, false);
        for (size_t c = 0; c < 2; c++)
            add_fine(&line, print, c, print->amounts[c * flat->count + i], sign);
        const bool resting = flat->lines[i].resting;
        add_field(&line,
                  resting ? pm_stance_word(PM_RESTING)
                          : bench_share_text(house, flat->lines[i].share, share),
                  print->share, true);
        pm_page_add(page, resting ? PM_ROLE_FAINT : PM_ROLE_NORMAL, 2, pm_text_get(&line));
    }
    pm_text_clear(&line);
    add_field(&line, "total", print->name, false);
    for (size_t c = 0; c < 2; c++)
        add_field(&line, pm_column_total_text(&print->totals[c], sign, share), print->amount, true);
    pm_page_add(page, PM_ROLE_HEADING, 2, pm_text_get(&line));
    pm_text_release(&line);
    return page;
}

void bench_flat(void *state)
{
    struct bench *bench = state;
    struct pm_flat_sheet flat;
    struct pm_error err = {0};
    if (bench->sheet == NULL || bench->sheet->trial.count == 0) {
        pm_app_say(bench->app, "There is nothing to list yet.");
    } else if (pm_sheet_flatten(bench->house->studio, bench->sheet, &flat, &err) != PM_OK) {
        pm_app_error(bench->app, &err);
    } else {
        struct flat_print print;
        struct pm_page *page = NULL;
        char key[PM_KEY_TEXT];
        if (flat_read(bench->house, &print, &flat))
            page = flat_page(bench->house, bench_sheet(bench), &flat, &print);
        pm_page_close_by(page, pm_app_key(bench->app, "flat", key));
        pm_page_open(bench->app, page, false);
        pm_free(print.amounts);
        pm_flat_sheet_release(&flat);
    }
}

unsigned bench_go_back(struct bench *bench)
{
    if (bench->mark_count > 0)
        bench_unmark_all(bench);
    else if (bench->sheet != NULL && bench->sheet->read_only)
        show_draft(bench);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}
