/* SPDX-License-Identifier: MIT */
/* The weigh sheet of a planned batch, the record of one that was started: shown, or into a file. */
#include "scale_room.h"

#include "kit/files.h"
#include "kit/overlay.h"
#include "kit/printing.h"

#include "permille/base/mem.h"
#include "permille/core/column.h"
#include "permille/core/volume.h"
#include "permille/studio/settings.h"
#include "permille/studio/stock.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void scale_show_text(struct scale_room *room, const char *title, const struct pm_text *text)
{
    struct pm_page *page = pm_page_new(title);
    pm_page_add_lines(page, PM_ROLE_NORMAL, 2, pm_text_get(text));
    pm_page_open(room->app, page, false);
}

/* ---- how it is weighed ---- */

struct pm_weigh_how scale_how(const struct scale_room *room)
{
    return (struct pm_weigh_how){.tolerance =
                                     room->how.tolerance[0] != '\0' ? room->how.tolerance : NULL,
                                 .order = room->how.order[0] != '\0' ? room->how.order : NULL,
                                 .cumulative = room->how.cumulative,
                                 .as_it_is = room->how.as_it_is};
}

/* What was chosen last, else what the settings say; "" where they cannot be read just now. */
static void fill_how(struct scale_room *room)
{
    char *within = NULL, *order = NULL;
    if (room->how.tolerance[0] == '\0' &&
        pm_settings_text(room->house->studio, PM_SETTING_WEIGH_WITHIN, &within, NULL) == PM_OK)
        pm_print(room->how.tolerance, sizeof room->how.tolerance, "%s", within);
    if (room->how.order[0] == '\0' &&
        pm_settings_text(room->house->studio, PM_SETTING_WEIGH_ORDER, &order, NULL) == PM_OK)
        pm_print(room->how.order, sizeof room->how.order, "%s", order);
    pm_free(within);
    pm_free(order);
}

void scale_how_fields(struct scale_room *room, struct pm_form_field *fields)
{
    const struct scale_how *how = &room->how;
    fill_how(room);
    fields[SCALE_TOLERANCE] =
        (struct pm_form_field){.key = "tolerance",
                               .label = "Within",
                               .text = how->tolerance,
                               .hint = "Of every weight: two standard uncertainties."};
    fields[SCALE_ORDER] =
        (struct pm_form_field){.key = "order",
                               .label = "Order",
                               .text = how->order[0] != '\0' ? how->order : "traces",
                               .words = PM_WEIGH_ORDER_WORDS,
                               .hint = "Solvents come last, but with the largest first."};
    fields[SCALE_DISPLAY] =
        (struct pm_form_field){.key = "read",
                               .label = "Display",
                               .text = how->cumulative ? "untared" : "tared",
                               .words = "tared|untared",
                               .hint = "Untared: it shows the sum of all pours."};
    fields[SCALE_BEGIN] =
        (struct pm_form_field){.key = "anyway",
                               .label = "Begin",
                               .text = how->as_it_is ? "as it is" : "when all is there",
                               .words = "when all is there|as it is",
                               .hint = "As it is: even if dilutions or bottles are lacking."};
}

enum pm_status scale_how_read(const char *const values[], struct scale_how *out,
                              struct pm_error *err)
{
    pm_strength tolerance = 0;
    enum pm_status status =
        pm_error_at(err, "tolerance", pm_strength_read(values[SCALE_TOLERANCE], &tolerance, err));
    if (status != PM_OK)
        return status;
    pm_print(out->tolerance, sizeof out->tolerance, "%s", values[SCALE_TOLERANCE]);
    pm_print(out->order, sizeof out->order, "%s", values[SCALE_ORDER]);
    out->cumulative = strcmp(values[SCALE_DISPLAY], "untared") == 0;
    out->as_it_is = strcmp(values[SCALE_BEGIN], "as it is") == 0;
    return PM_OK;
}

/* ---- shown ---- */

/* Where the words of a weight begin: behind what the display shows and the share. */
#define WEIGHT_INDENT 22

/* What the display is to show, its share of the uncertainty, then what it is of, and what it is
 * exactly. */
static void add_weight(const struct scale_room *room, const struct pm_weighing *weighing,
                       const struct pm_weigh_line *line, struct pm_page *page)
{
    const char sign = room->house->sign;
    char buf[PM_AMOUNT_TEXT], share[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(
        &text, "%9s g  %7s  %s, ",
        pm_decimal_format(line->reads, 6, pm_balance_places(&weighing->balance), sign, buf),
        pm_share_format(llround(line->share * (double)PM_WHOLE), sign, share), line->tall);
    pm_text_addf(&text, "%s, %s%s; ", pm_strength_about(line->strength, sign, buf),
                 line->to_make         ? "to be made"
                 : line->label != NULL ? line->label
                                       : "not on the shelf",
                 line->weighable ? "" : ", " PM_TOO_LITTLE_WORDS);
    pm_text_addf(&text, "exactly %s g", pm_decimal_format(line->target, 6, 6, sign, buf));
    if (line->target_ul > 0)
        pm_text_addf(&text,
                     ", about %s at 20 \xC2\xB0"
                     "C",
                     pm_volume_format(line->target_ul, sign, buf));
    if (line->whence.made_up != NULL || line->whence.accord_count > 0) {
        pm_text_add(&text, "; ");
        pm_weigh_whence_say(&line->whence, &text);
    }
    pm_page_add(page, line->weighable && !line->to_make ? PM_ROLE_NORMAL : PM_ROLE_WARNING,
                WEIGHT_INDENT, pm_text_get(&text));
    pm_text_release(&text);
}

/* What is to be weighed, narrow enough for any terminal. */
static void add_weighing(struct scale_room *room, const struct pm_weighing *weighing,
                         struct pm_page *page)
{
    const char sign = room->house->sign;
    char strength[PM_AMOUNT_TEXT], mass[PM_AMOUNT_TEXT], stock[PM_AMOUNT_TEXT];
    if (weighing->making_count > 0)
        pm_page_addf(page, PM_ROLE_WARNING, 0, "Make first:");
    for (size_t i = 0; i < weighing->making_count; i++) {
        struct pm_text text = PM_TEXT_EMPTY;
        pm_weigh_making_say(weighing, i, sign, &text);
        pm_page_add(page, PM_ROLE_NORMAL, 4, pm_text_get(&text));
        pm_text_release(&text);
    }
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    pm_page_add(page, PM_ROLE_FAINT, 0,
                weighing->cumulative
                    ? "The display, not tared between the pours, is to show (then its share "
                      "of the uncertainty):"
                    : "The display, tared before every pour, is to show (then its "
                      "share of the uncertainty):");
    for (size_t i = 0; i < weighing->count; i++)
        add_weight(room, weighing, &weighing->items[i], page);
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    pm_page_addf(page, PM_ROLE_NORMAL, 0, "%s reads %s; it weighs within %s from %s on.",
                 weighing->balance_name != NULL ? weighing->balance_name : "A balance",
                 pm_balance_exact(&weighing->balance, weighing->balance.readability, sign, mass),
                 pm_strength_format(weighing->tolerance, sign, strength),
                 pm_balance_exact(&weighing->balance, weighing->minimum, sign, stock));
    if (weighing->least > 0)
        pm_page_addf(page, PM_ROLE_NORMAL, 0,
                     "The least batch that needs no dilution to be made: %s.",
                     pm_mass_format(weighing->least, 2, sign, mass));
    pm_page_add(page, PM_ROLE_FAINT, 0, pm_weigh_caution);
}

enum pm_status scale_weigh(struct scale_room *room, const struct pm_batch *batch,
                           struct pm_weighing *out, struct pm_error *err)
{
    const struct pm_weigh_how how = scale_how(room);
    struct pm_sheet *sheet;
    enum pm_status status = pm_sheet_open(room->house->studio, batch->trial, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_weigh(room->house->studio, sheet, batch->mass, &how, out, err);
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status show_plan(struct scale_room *room, const struct pm_batch *batch,
                                struct pm_error *err)
{
    struct pm_weighing weighing;
    enum pm_status status = scale_weigh(room, batch, &weighing, err);
    if (status != PM_OK)
        return status;
    struct pm_page *page = pm_page_new("Weigh sheet");
    pm_page_addf(page, PM_ROLE_HEADING, 0, "%s", batch->title);
    add_weighing(room, &weighing, page);
    pm_weighing_release(&weighing);
    pm_page_open(room->app, page, false);
    return PM_OK;
}

/* The batch a key is about: the open one, else the one under the cursor. */
static int64_t batch_here(const struct scale_room *room)
{
    return room->open != 0 ? room->open : scale_batch(room)->id;
}

static bool is_planned(const struct scale_room *room)
{
    return room->open == 0 && scale_batch(room)->state == PM_BATCH_PLANNED;
}

static enum pm_status print_record(void *context, enum pm_paper paper, struct pm_text *out,
                                   struct pm_error *err)
{
    const struct scale_room *room = context;
    struct pm_batch_record record;
    enum pm_status status = pm_batch_show(room->house->studio, batch_here(room), &record, err);
    if (status != PM_OK)
        return status;
    status = pm_batch_print(&record, paper, room->house->sign, out, err);
    pm_batch_record_release(&record);
    return status;
}

void scale_sheet(void *state)
{
    struct scale_room *room = state;
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    enum pm_status status = PM_OK;
    if (is_planned(room))
        status = show_plan(room, scale_batch(room), &err);
    else if ((status = print_record(room, PM_PAPER_TEXT, &text, &err)) == PM_OK)
        scale_show_text(room, "Batch record", &text);
    if (status != PM_OK)
        pm_app_error(room->app, &err);
    pm_text_release(&text);
}

/* ---- into a file ---- */

static enum pm_status print_sheet(void *context, enum pm_paper paper, struct pm_text *out,
                                  struct pm_error *err)
{
    struct scale_room *room = context;
    struct pm_weighing weighing;
    enum pm_status status = scale_weigh(room, scale_batch(room), &weighing, err);
    if (status != PM_OK)
        return status;
    status = pm_weighing_print(&weighing, paper, room->house->sign, out, err);
    pm_weighing_release(&weighing);
    return status;
}

static enum pm_status sheet_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct scale_room *room = context;
    const enum pm_status status = scale_how_read(values, &room->how, err);
    return status == PM_OK
               ? pm_print_make(room->app, values[SCALE_HOW_FIELDS], print_sheet, room, err)
               : status;
}

void scale_print(void *state)
{
    struct scale_room *room = state;
    char name[40];
    snprintf(name, sizeof name, "%s-%lld", is_planned(room) ? "weigh" : "batch",
             (long long)batch_here(room));
    const struct pm_print_spec record = {.title = "The batch's record into a file",
                                         .name = name,
                                         .forms = PM_PRINT_PAGES,
                                         .make = print_record,
                                         .context = room};
    struct pm_form_spec sheet = {.title = "The weigh sheet into a file",
                                 .field_count = SCALE_HOW_FIELDS + 1,
                                 .accept = sheet_accept,
                                 .context = room};
    struct pm_text file = PM_TEXT_EMPTY;
    if (!is_planned(room)) {
        pm_print_open(room->app, &record);
        return;
    }
    pm_print_name(name, &file);
    scale_how_fields(room, sheet.fields);
    sheet.fields[SCALE_HOW_FIELDS] = (struct pm_form_field){.key = "file",
                                                            .label = "File",
                                                            .text = pm_text_get(&file),
                                                            .hint = ".html, .md or .txt",
                                                            .complete = pm_complete_file,
                                                            .replace = true};
    pm_form_open(room->app, &sheet);
    pm_text_release(&file);
}
