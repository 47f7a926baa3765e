/* SPDX-License-Identifier: MIT */
/* What stands at the beginning of a JSON document. */
#include "documents.h"

#include "permille/base/text.h"

#include <string.h>

#define HEAD  "permille"
#define BYTES 256 /* enough for a head */

static size_t after_blanks(const char *text, size_t length, size_t at)
{
    while (at < length && text[at] != '\0' && strchr(" \t\r\n", text[at]) != NULL)
        at++;
    return at;
}

static size_t beginning(const char *text, size_t length)
{
    return after_blanks(text, length, length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0);
}

bool pm_is_document(const char *text, size_t length)
{
    size_t at = beginning(text, length);
    if (at < length && text[at] == '[') {
        at = after_blanks(text, length, at + 1);
        if (at < length && text[at] == ']') /* "[ ] Linalool 120": a box before a line */
            return after_blanks(text, length, at + 1) == length;
        return at < length && (text[at] == '[' || text[at] == '{');
    }
    return at < length && text[at] == '{';
}

/* Whether the word, with its quotes, begins there. */
static bool begins(const char *text, size_t length, size_t at, const char *word)
{
    const size_t bytes = strlen(word);
    return length - at >= bytes && memcmp(text + at, word, bytes) == 0;
}

/* Where the first member of an object begins; length when it is none. */
static size_t first_member(const char *text, size_t length)
{
    const size_t at = beginning(text, length);
    return at < length && text[at] == '{' ? after_blanks(text, length, at + 1) : length;
}

bool pm_document_says(const char *text, size_t length, const char *kind)
{
    char head[BYTES + 1], word[32];
    const size_t at = first_member(text, length);
    if (!begins(text, length, at, "\"" HEAD "\""))
        return false;
    const size_t bytes = length - at < BYTES ? length - at : BYTES;
    memcpy(head, text + at, bytes);
    head[bytes] = '\0';
    const char *end = strchr(head, '}');
    const char *said = strstr(head, pm_print(word, sizeof word, "\"%s\"", kind));
    return said != NULL && end != NULL && said < end;
}

bool pm_is_shelf_document(const char *text, size_t length)
{
    static const char *const members[] = {"\"materials\"", "\"bottles\"", "\"movements\""};
    const size_t at = first_member(text, length);
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++)
        if (begins(text, length, at, members[i]))
            return true;
    return pm_document_says(text, length, "shelf");
}

void pm_document_head(struct pm_json *json, const char *kind)
{
    pm_json_put_open(json, HEAD, '{');
    pm_json_put_string(json, "document", kind);
    pm_json_put_int(json, "version", PM_DOCUMENT_VERSION);
    pm_json_close(json, '}');
}

enum pm_status pm_document_check(const struct pm_json_value *document, const char *kind,
                                 struct pm_error *err)
{
    const struct pm_json_value *head = pm_json_member(document, HEAD);
    const char *is = pm_json_text_of(pm_json_member(head, "document"));
    int64_t version = 0;
    if (head == NULL)
        return PM_OK;
    if (is == NULL || !pm_json_int_of(pm_json_member(head, "version"), &version) || version < 1)
        return pm_fail(err, PM_INVALID,
                       "What this document is cannot be understood: \"" HEAD
                       "\" needs \"document\" and \"version\".");
    if (strcmp(is, kind) != 0)
        return pm_fail(err, PM_INVALID, "This document is of the kind \"%s\", not \"%s\".", is,
                       kind);
    if (version > PM_DOCUMENT_VERSION)
        return pm_fail(err, PM_NEWER, "This document was written by a newer version of permille.");
    return PM_OK;
}
