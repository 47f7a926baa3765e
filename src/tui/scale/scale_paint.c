/* SPDX-License-Identifier: MIT */
/* The Scale room: the list of batches; the line that is poured, in large figures, and all lines. */
#include "scale_room.h"

#include "kit/find.h"

#include "permille/base/utf8.h"
#include "permille/core/volume.h"

#include <stdio.h>
#include <string.h>

static const char *mass_text(const struct scale_room *room, pm_mass mass, int places, char *buf)
{
    return pm_mass_format(mass, places, room->house->sign, buf);
}

/* ---- the list ---- */

static const char *state_word(enum pm_batch_state state)
{
    return state == PM_BATCH_STARTED ? "being poured" : pm_batch_word(state);
}

enum { NUMBER, TITLE, MASS, STATE, DAY, BY, NOTE, LIST_COLUMNS };

static enum pm_role list_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct scale_room *room = context;
    const struct pm_batch *batch = &room->batches.items[row];
    const enum pm_role role = pm_batch_over(batch->state) ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    char buf[PM_AMOUNT_TEXT], day[PM_TIME_TEXT];
    switch (column) {
    case NUMBER:
        pm_text_addf(out, "%lld", (long long)batch->id);
        return PM_ROLE_FAINT;
    case TITLE:
        pm_text_add(out, batch->title);
        return role;
    case MASS:
        pm_text_add(out, mass_text(room, batch->mass, 2, buf));
        return role;
    case STATE:
        pm_text_add(out, state_word(batch->state));
        return batch->state == PM_BATCH_STARTED || batch->state == PM_BATCH_PAUSED ? PM_ROLE_WARNING
                                                                                   : role;
    case DAY:
        pm_text_add(out, batch->day != PM_NO_DAY ? pm_day_format(batch->day, day) : "");
        return role;
    case BY:
        pm_text_add(out, batch->made_by != NULL ? batch->made_by : "");
        return role;
    default:
        pm_text_add(out, batch->note != NULL ? batch->note : "");
        return PM_ROLE_FAINT;
    }
}

struct pm_table scale_list_table(struct scale_room *room)
{
    static const struct pm_column columns[LIST_COLUMNS] = {
        [NUMBER] = {.heading = "#", .align = PM_ALIGN_RIGHT, .wish = 4},
        [TITLE] = {.heading = "batch of", .wish = 30, .least = 16, .most = 48, .yields = 1},
        [MASS] = {.heading = "how much", .align = PM_ALIGN_RIGHT, .measured = true, .wish = 10},
        [STATE] = {.heading = "state", .wish = 12},
        [DAY] = {.heading = "when", .wish = 10},
        [BY] = {.heading = "by", .measured = true, .optional = true, .most = 14, .rank = 2},
        [NOTE] = {.heading = "note", .measured = true, .optional = true, .most = 30, .rank = 1},
    };
    return (struct pm_table){.columns = columns,
                             .column_count = LIST_COLUMNS,
                             .rows = room->batches.count,
                             .context = room,
                             .cell = list_cell,
                             .at = TITLE,
                             .rule = PM_RULE_WHOLE};
}

static void paint_list(struct scale_room *room, const struct pm_pane *pane, int covered)
{
    struct pm_table table = scale_list_table(room);
    table.covered = covered;
    if (room->batches.count > 0) {
        pm_table_draw(&table, &room->list, pane);
        return;
    }
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL, "No batch is planned or being poured.");
    pm_app_invite(room->app, pane, 3, "plan-batch", "plans a batch of a kept trial");
    pm_app_invite(room->app, pane, 4, "all-batches", "shows those that are over");
    pm_app_invite(room->app, pane, 5, "balances", "says what balance you weigh with");
}

/* ---- a batch ---- */

enum { PLACE, NAME, STRENGTH, BOTTLE, TARGET, DISPLAY, POURED, OFF, SIGN, LINE_COLUMNS };

static void add_grams(const struct scale_room *room, pm_mass mass, int places, struct pm_text *out)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_decimal_format(mass, 6, places, room->house->sign, buf));
}

/* In the digits of the balance, or all that it has: what was typed is not rounded. */
static void add_poured(const struct scale_room *room, pm_mass mass, struct pm_text *out)
{
    add_grams(room, mass, pm_balance_places_of(&room->record.plan.balance, mass), out);
}

/* In percent: a digit behind the point as long as there is room for it. */
static void add_deviation(const struct scale_room *room, double deviation, struct pm_text *out)
{
    char buf[PM_AMOUNT_TEXT];
    const double bounded = deviation > 1e6 ? 1e6 : deviation;
    pm_text_addf(out, "%s %%",
                 pm_decimal_format((int64_t)(bounded * 1e6 + (bounded < 0 ? -0.5 : 0.5)), 4,
                                   bounded < 1 ? 1 : 0, room->house->sign, buf));
}

static enum pm_role line_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct scale_room *room = context;
    const struct pm_batch_record_line *line = &room->record.items[row];
    const enum pm_role role = line->over   ? PM_ROLE_ERROR
                              : line->done ? PM_ROLE_FAINT
                                           : PM_ROLE_NORMAL;
    char buf[PM_AMOUNT_TEXT];
    switch (column) {
    case PLACE:
        pm_text_addf(out, "%lld", (long long)line->place);
        return PM_ROLE_FAINT;
    case NAME:
        pm_text_add(out, line->tall);
        return role;
    case STRENGTH:
        pm_text_add(out, pm_strength_about(line->strength, room->house->sign, buf));
        return role;
    case BOTTLE:
        pm_text_add(out, line->label != NULL ? line->label : "none");
        return line->label != NULL ? role : PM_ROLE_WARNING;
    case TARGET:
        add_grams(room, line->target, 6, out);
        return role;
    case DISPLAY:
        add_grams(room, line->shows, pm_balance_places(&room->record.plan.balance), out);
        return role;
    case POURED:
        if (line->pour != 0)
            add_poured(room, line->poured, out);
        return role;
    case OFF:
        if (line->pour != 0)
            add_deviation(room, line->deviation, out);
        return role;
    default:
        pm_text_add(out, line->over         ? "! too much"
                         : line->done       ? "done"
                         : line->pour != 0  ? "more"
                         : !line->weighable ? PM_TOO_LITTLE " too little"
                                            : "");
        return line->over || (!line->weighable && !line->done) ? PM_ROLE_WARNING : PM_ROLE_FAINT;
    }
}

static enum pm_role line_foot(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct scale_room *room = context;
    (void)row;
    if (column == NAME)
        pm_text_add(out, "all");
    else if (column == TARGET)
        add_grams(room, room->record.target, 6, out);
    else if (column == POURED)
        add_poured(room, room->record.poured, out);
    else if (column == SIGN && room->lines.below > 0)
        pm_text_addf(out, "%zu below", room->lines.below);
    return column == SIGN ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
}

struct pm_table scale_lines_table(struct scale_room *room)
{
    static const struct pm_column columns[LINE_COLUMNS] = {
        [PLACE] = {.heading = "#", .align = PM_ALIGN_RIGHT, .wish = 3},
        [NAME] = {.heading = "material", .wish = 26, .least = 14, .most = 48, .yields = 1},
        [STRENGTH] = {.heading = "strength", .align = PM_ALIGN_RIGHT, .wish = 9, .rank = 1},
        [BOTTLE] = {.heading = "bottle", .wish = 6},
        [TARGET] = {.heading = "target g", /* exactly what is asked for */
                    .align = PM_ALIGN_POINT,
                    .measured = true,
                    .summed = true,
                    .from = 100},
        [DISPLAY] = {.heading = "display g", .align = PM_ALIGN_POINT, .measured = true},
        [POURED] = {.heading = "poured g",
                    .align = PM_ALIGN_POINT,
                    .measured = true,
                    .summed = true},
        [OFF] = {.heading = "off", .align = PM_ALIGN_RIGHT, .wish = 7},
        [SIGN] = {.heading = "", .wish = 12},
    };
    return (struct pm_table){.columns = columns,
                             .column_count = LINE_COLUMNS,
                             .rows = room->record.count,
                             .context = room,
                             .cell = line_cell,
                             .foot = line_foot,
                             .foot_rows = 1,
                             .at = NAME,
                             .rule = PM_RULE_COLUMNS};
}

/* Figures of three rows, made of blocks, for reading from an arm's length away. */
static void paint_large(const struct pm_pane *pane, int row, int column, bool utf8,
                        const char *number)
{
    static const char *const figures[] = {"#######.####.##", ".#..#..#..#..#.", "###..#####..###",
                                          "###..####..####", "#.##.####..#..#", "####..###..####",
                                          "####..####.####", "###..#..#..#..#", "####.#####.####",
                                          "####.####..####"};
    static const char whole[] = "####.##.##.####"; /* 0 */
    for (const char *at = number; *at && column + 3 < pane->columns; at++) {
        const bool digit = *at >= '0' && *at <= '9';
        const char *shape = *at == '0' ? whole : digit ? figures[*at - '0'] : ".............#.";
        for (int k = 0; k < 15; k++) {
            const bool narrow = !digit && k % 3 != 1;
            if (!narrow)
                pm_pane_put(pane, row + k / 3, column + (digit ? k % 3 : 0), PM_ROLE_NORMAL,
                            shape[k] != '#' ? " "
                            : utf8          ? "\xE2\x96\x88"
                                            : "#");
        }
        column += digit ? 4 : 2;
    }
}

/* "about 2.31 ml at 20 °C" behind `before`, or nothing where no density is known. */
static const char *volume_text(const struct scale_room *room,
                               const struct pm_batch_record_line *line, const char *before,
                               char *buf, size_t size)
{
    char volume[PM_AMOUNT_TEXT];
    buf[0] = '\0';
    if (line->lack_ul > 0)
        pm_print(buf, size,
                 "%sabout %s at 20 \xC2\xB0"
                 "C",
                 before, pm_volume_format(line->lack_ul, room->house->sign, volume));
    return buf;
}

static const char *in_words(const struct scale_room *room, const struct pm_batch_record_line *line,
                            char *buf, size_t size)
{
    char mass[PM_AMOUNT_TEXT], volume[PM_AMOUNT_TEXT + 24];
    const struct pm_balance *balance = &room->record.plan.balance;
    const pm_mass lack = line->target - line->poured;
    const pm_mass shown = pm_balance_reads(balance, lack < 0 ? -lack : lack);
    pm_balance_text(balance, shown, room->house->sign, mass);
    if (line->over)
        snprintf(buf, size, "%s too much", mass);
    else if (line->done && shown > 0)
        snprintf(buf, size, "done, %s %s than meant", mass, lack < 0 ? "more" : "less");
    else if (line->done)
        snprintf(buf, size, "done");
    else if (line->pour != 0)
        snprintf(buf, size, "%s still to pour%s", mass,
                 volume_text(room, line, ", ", volume, sizeof volume));
    else if (!line->weighable)
        snprintf(buf, size, PM_TOO_LITTLE_WORDS "; do what you can%s",
                 volume_text(room, line, ": ", volume, sizeof volume));
    else
        snprintf(buf, size, "%s", volume_text(room, line, "", volume, sizeof volume));
    return buf;
}

/* What stands above the table, as tall as it has to be: what it is and where it comes from,
 * wrapped; the figures, five rows; how it stands. */
#define FIGURE_ROWS   5
#define FIGURE_COLUMN 22

static void add_whence(const struct scale_room *room, const struct pm_batch_record_line *line,
                       struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_strength_about(line->strength, room->house->sign, strength));
    if (line->solvent_name != NULL)
        pm_text_addf(out, " in %s", line->solvent_name);
    pm_text_addf(out, ", from %s", line->label != NULL ? line->label : "no bottle on the shelf");
    if (line->lot != NULL)
        pm_text_addf(out, ", lot %s", line->lot);
    if (line->store != NULL)
        pm_text_addf(out, ", %s", line->store);
    if (line->whence.made_up != NULL || line->whence.accord_count > 0) {
        pm_text_add(out, "; ");
        pm_weigh_whence_say(&line->whence, out);
    }
}

/* The balance's own words, beside the figures. */
static void paint_port(const struct scale_room *room, const struct pm_pane *pane, int row)
{
    char mass[PM_AMOUNT_TEXT];
    if (room->port == NULL)
        return;
    pm_pane_put(pane, row, 0, PM_ROLE_FAINT, "balance:");
    pm_pane_put(pane, row + 1, 0, room->stable ? PM_ROLE_GOOD : PM_ROLE_FAINT,
                room->stable ? pm_balance_text(&room->record.plan.balance, room->reading,
                                               room->house->sign, mass)
                             : "waiting");
    pm_pane_put(pane, row + 2, 0, PM_ROLE_GOOD, room->stable ? "stable" : "");
}

/* The line under the hand; returns the rows it takes. */
static int paint_current(struct scale_room *room, const struct pm_pane *sheet)
{
    const struct pm_batch_record_line *line = scale_line(room);
    const struct pm_pane pane = pm_pane_part(sheet, 0, 2, sheet->rows, sheet->columns - 2);
    char number[PM_AMOUNT_TEXT], words[200];
    struct pm_text text = PM_TEXT_EMPTY;
    if (line == NULL)
        return 0;
    pm_text_addf(&text, "%lld  %s", (long long)line->place, line->tall);
    int row = pm_pane_wrap(&pane, 0, PM_ROLE_HEADING, pm_text_get(&text));
    pm_text_clear(&text);
    add_whence(room, line, &text);
    const struct pm_pane below = pm_pane_part(&pane, row, 0, pane.rows - row, pane.columns);
    row += pm_pane_wrap(&below, 0, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
    pm_pane_put(&pane, row, 0, PM_ROLE_FAINT,
                room->record.plan.cumulative ? "until it shows" : "pour, tared");
    const struct pm_balance *balance = &room->record.plan.balance;
    pm_balance_text(balance, line->reads, room->house->sign, number);
    number[strlen(number) - strlen(" g")] = '\0';
    paint_large(&pane, row, FIGURE_COLUMN, room->house->utf8, number);
    pm_pane_put(&pane, row + FIGURE_ROWS - 1,
                FIGURE_COLUMN + 4 * (int)strlen(number) - 2 * (strpbrk(number, ".,") != NULL),
                PM_ROLE_FAINT, "g");
    paint_port(room, &pane, row + 2);
    pm_pane_put(&pane, row + FIGURE_ROWS, 0, line->over ? PM_ROLE_ERROR : PM_ROLE_NORMAL,
                in_words(room, line, words, sizeof words));
    return row + FIGURE_ROWS + 1;
}

static void paint_record(struct scale_room *room, const struct pm_canvas *canvas)
{
    const struct pm_batch_record *record = &room->record;
    struct pm_table table = scale_lines_table(room);
    char mass[PM_AMOUNT_TEXT], step[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "batch %lld  %s  %s  %s  %s, %s", (long long)record->batch.id,
                 state_word(record->batch.state), mass_text(room, record->target, 2, mass),
                 record->batch.title,
                 record->plan.balance_name != NULL ? record->plan.balance_name : "a balance",
                 pm_balance_text(&record->plan.balance, record->plan.balance.readability,
                                 room->house->sign, step));
    const int cells = (int)pm_utf8_cells(pm_text_get(&text)), most = canvas->heading.columns - 2;
    pm_pane_put_left(&canvas->heading, 0, 2, cells < most ? cells : most, PM_ROLE_FAINT,
                     pm_text_get(&text));
    pm_text_release(&text);
    const bool large = !pm_batch_over(record->batch.state);
    const int above = large ? paint_current(room, &canvas->sheet) : 0;
    const struct pm_pane below =
        pm_pane_part(&canvas->sheet, above, 0, canvas->sheet.rows - above, canvas->sheet.columns);
    table.covered = canvas->covered;
    pm_table_draw(&table, &room->lines, &below);
}

static struct pm_table table_now(void *state)
{
    struct scale_room *room = state;
    return room->open != 0 ? scale_lines_table(room) : scale_list_table(room);
}

static void go(void *state, size_t row)
{
    struct scale_room *room = state;
    (room->open != 0 ? &room->lines : &room->list)->row = row;
}

void scale_find(void *state)
{
    const struct scale_room *room = state;
    const struct pm_find_spec spec = {.title = room->open != 0 ? "Find a line" : "Find a batch",
                                      .label = room->open != 0 ? "Line" : "Batch",
                                      .none = "There is no batch to look for.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(room->app, &spec);
}

void scale_paint(struct scale_room *room, const struct pm_canvas *canvas)
{
    if (room->open != 0)
        paint_record(room, canvas);
    else
        paint_list(room, &canvas->sheet, canvas->covered);
}
