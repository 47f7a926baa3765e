/* SPDX-License-Identifier: MIT */
/* The key file, as a file of lines: what they mean, the editor knows. */
#include "machine.h"

#include "permille/base/mem.h"
#include "permille/studio/settings.h"

#include <string.h>

#define BLANKS " \t\r"

static void find_path(char **out)
{
    struct pm_settings values;
    *out = NULL;
    pm_settings_usual(&values);
    pm_machine_settings(&values, out, NULL, NULL);
}

enum pm_status pm_machine_keys(char **out, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char *path;
    find_path(&path);
    enum pm_status status = path != NULL ? pm_machine_file(path, &text, err) : PM_OK;
    *out = status == PM_OK ? pm_text_take(&text) : NULL;
    if (status == PM_OK && *out == NULL)
        status = pm_fail_memory(err);
    pm_text_release(&text);
    pm_free(path);
    return status;
}

static bool same_id(const char *word, const char *id)
{
    return strcmp(word, id) == 0;
}

/* What stands behind the word of a line, without the blanks around it; NULL: out of memory. */
static char *rest_of(const char *line, size_t length)
{
    size_t from = strspn(line, BLANKS);
    while (from < length && strchr(BLANKS, line[from]) == NULL)
        from++;
    while (from < length && strchr(BLANKS, line[from]) != NULL)
        from++;
    while (length > from && strchr(BLANKS, line[length - 1]) != NULL)
        length--;
    return pm_strndup(line + from, length - from);
}

enum pm_status pm_machine_keys_get(const char *id, char **out, struct pm_error *err)
{
    char *text = NULL;
    enum pm_status status = pm_machine_keys(&text, err);
    *out = NULL;
    for (const char *at = text; status == PM_OK && *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        if (pm_machine_line_of(at, length, same_id, id)) {
            pm_free(*out); /* the later line counts */
            *out = rest_of(at, length);
            status = *out != NULL ? PM_OK : pm_fail_memory(err);
        }
        at += length + (at[length] == '\n');
    }
    pm_free(text);
    return status;
}

/* Behind the others: a line about a verb that stands above gives way to it. */
enum pm_status pm_machine_keys_put(const char *id, const char *keys, struct pm_error *err)
{
    char *path;
    find_path(&path);
    const enum pm_status status = pm_machine_put_line(&path, same_id, id, keys, true, err);
    pm_free(path);
    return status;
}
