/* SPDX-License-Identifier: MIT */
/* Asking for a file and writing what is in front into it. */
#include "printing.h"

#include "app.h"
#include "files.h"
#include "overlay.h"

#include "permille/base/mem.h"

#include <string.h>
#include <unistd.h>

#define TRIES 1000 /* names that are looked at; after that the last one is offered */

/* What a shell, a folder or a person would stumble over becomes a dash. */
static void add_stem(const char *name, struct pm_text *out)
{
    for (const char *at = name; *at != '\0'; at++)
        pm_text_add_char(out, strchr("/\\ \t\"'`$&*?<>|:;~!(){}[]#", *at) != NULL ? '-' : *at);
    if (out->length > 0 && (out->data[0] == '.' || out->data[0] == '-'))
        out->data[0] = '_';
}

void pm_print_name(const char *name, struct pm_text *out)
{
    struct pm_text stem = PM_TEXT_EMPTY;
    add_stem(name, &stem);
    for (int number = 1; number <= TRIES; number++) {
        pm_text_clear(out);
        pm_text_add(out, pm_text_get(&stem));
        if (number > 1)
            pm_text_addf(out, "_%d", number);
        pm_text_add(out, ".html");
        if (!pm_text_ok(out) || access(pm_text_get(out), F_OK) != 0)
            break;
    }
    pm_text_release(&stem);
}

enum pm_status pm_print_make(struct pm_app *app, const char *path, pm_print_fn make, void *context,
                             struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = make(context, pm_paper_of_file(path), &text, err);
    if (status == PM_OK && !pm_text_ok(&text))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_print_to_file(path, &text, err);
    pm_text_release(&text);
    if (status == PM_OK)
        pm_app_say(app, "Written: %s.", path);
    return pm_error_at(err, "file", status);
}

/* ---- the question ---- */

struct question {
    struct pm_app *app;
    pm_print_fn make;
    void *context;
};

static enum pm_status accept(void *context, const char *path, struct pm_error *err)
{
    const struct question *question = context;
    return pm_print_make(question->app, path, question->make, question->context, err);
}

void pm_print_open(struct pm_app *app, const struct pm_print_spec *spec)
{
    struct question question = {.app = app, .make = spec->make, .context = spec->context};
    struct pm_text file = PM_TEXT_EMPTY, title = PM_TEXT_EMPTY;
    pm_print_name(spec->name, &file);
    pm_text_addf(&title, "%s: %s", spec->title, spec->forms != NULL ? spec->forms : PM_PRINT_FORMS);
    const struct pm_prompt_spec prompt = {
        .title = pm_text_get(&title),
        .label = "File",
        .text = pm_text_get(&file),
        .replace = true,
        .complete = pm_complete_file,
        .accept = accept,
        .context = &question,
        .context_size = sizeof question,
    };
    pm_prompt_open(app, &prompt);
    pm_text_release(&title);
    pm_text_release(&file);
}
