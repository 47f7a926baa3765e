/* SPDX-License-Identifier: MIT */
/*
 * The screen's dealings with files: text that is written in the person's own editor, what is
 * printed, paths that are typed.
 */
#ifndef PERMILLE_TUI_FILES_H
#define PERMILLE_TUI_FILES_H

#include "permille/base/status.h"
#include "permille/studio/paper.h"

#include <stdbool.h>
#include <stddef.h>

/* Lets the person change `text` in $VISUAL or $EDITOR and gives what it became as a new string
 * (pm_free), without newlines at its end. Runs the editor in the terminal: call it from a job with
 * `away` set. The text is in a private temporary file meanwhile. PM_REFUSED when neither variable
 * is set or the editor did not end well (the text is then as before), PM_INVALID when the result is
 * larger than `most` bytes or not UTF-8, PM_IO, PM_NOMEM. */
enum pm_status pm_edit_text(const char *text, size_t most, char **out, struct pm_error *err);

/* Writes all of a text to an open file; false, with errno, where it could not. */
bool pm_write_all(int file, const char *text);

struct pm_text;
/* Completes the path of a file (pm_complete_fn; the context is not used): the round-th name, in
 * their order, that goes on from what is there; folders end in '/'. "~/" is the home folder. */
bool pm_complete_file(void *context, const char *before, size_t round, struct pm_text *out);
/* Writes a text to a new file. Never over something else: PM_EXISTS. PM_FULL, PM_IO; then there is
 * no file. */
enum pm_status pm_print_to_file(const char *path, const struct pm_text *text, struct pm_error *err);
/* What a file of that name is to be: a page of HTML when it ends in ".html", Markdown in ".md",
 * a table in ".csv", JSON in ".json", else plain text. */
enum pm_paper pm_paper_of_file(const char *path);

#endif
