/* SPDX-License-Identifier: MIT */
/*
 * Taking what is in front out into a file, the verb "print" of the rooms: asks for the file, whose
 * ending says in which form (pm_paper_of_file), and writes what the room makes of it.
 */
#ifndef PERMILLE_TUI_PRINTING_H
#define PERMILLE_TUI_PRINTING_H

#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/studio/paper.h"

struct pm_app;

/* Appends what is in front, in the form; PM_INVALID where it has no such form. */
typedef enum pm_status (*pm_print_fn)(void *context, enum pm_paper paper, struct pm_text *out,
                                      struct pm_error *err);

struct pm_print_spec {
    const char *title; /* of the question; the forms are named behind it */
    const char *name;  /* "Harbour/2": the file offered is a page of that name */
    const char *forms; /* NULL: PM_PRINT_FORMS */
    pm_print_fn make;
    void *context; /* borrowed until the question has gone */
};

#define PM_PRINT_FORMS ".html .md .txt .csv .json"
#define PM_PRINT_PAGES ".html .md .txt"

void pm_print_open(struct pm_app *app, const struct pm_print_spec *spec);

/* "Harbour-2.html" of "Harbour/2", "Harbour-2_2.html" where that is there already. */
void pm_print_name(const char *name, struct pm_text *out);
/* Makes it in the form that the file's ending says, writes it and says where. An error names the
 * field "file". */
enum pm_status pm_print_make(struct pm_app *app, const char *path, pm_print_fn make, void *context,
                             struct pm_error *err);

#endif
