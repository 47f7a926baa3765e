/* SPDX-License-Identifier: MIT */
/* The Shelf: all of it, or one of its tables, into a file. */
#include "shelf.h"

#include "kit/files.h"
#include "kit/printing.h"

#include "permille/studio/paper.h"

enum { PRINT_WHAT, PRINT_FILE, PRINT_FIELDS };

struct what {
    struct shelf *shelf;
    const char *table;
};

static enum pm_status print_table(void *context, enum pm_paper paper, struct pm_text *out,
                                  struct pm_error *err)
{
    const struct what *what = context;
    return pm_shelf_paper(what->shelf->house->studio, what->table, paper, what->shelf->house->sign,
                          out, err);
}

static enum pm_status print_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct what what = {.shelf = context, .table = values[PRINT_WHAT]};
    return pm_print_make(what.shelf->app, values[PRINT_FILE], print_table, &what, err);
}

void shelf_print(void *state)
{
    struct shelf *shelf = state;
    struct pm_text file = PM_TEXT_EMPTY;
    pm_print_name("shelf", &file);
    const struct pm_form_spec spec = {
        .title = "The shelf into a file",
        .fields = {[PRINT_WHAT] = {.key = "what",
                                   .label = "What",
                                   .text = "shelf",
                                   .words = "shelf|materials|bottles|movements",
                                   .hint = "The shelf is all three; CSV holds one of them."},
                   [PRINT_FILE] = {.key = "file",
                                   .label = "File",
                                   .text = pm_text_get(&file),
                                   .hint = ".html, .md, .txt, .csv or .json",
                                   .complete = pm_complete_file,
                                   .replace = true}},
        .field_count = PRINT_FIELDS,
        .accept = print_accept,
        .context = shelf,
    };
    pm_form_open(shelf->app, &spec);
    pm_text_release(&file);
}
