/* SPDX-License-Identifier: MIT */
/*
 * A change told for another library: its text word by word, with other numbers of materials and
 * trials. It is not taken apart further, so every format stays the one it is.
 */
#include "permille/core/change.h"

#include "change_format.h"

#include <inttypes.h>
#include <string.h>

#define WORDS 7 /* "new PLACE LINE KIND REF STRENGTH SOLVENT": what follows is not looked at */

/* One line of the text. */
struct words {
    char text[WORDS][24];
    int64_t number[WORDS]; /* -1: none */
    size_t count;
    const char *rest; /* behind them */
};

struct telling {
    const struct pm_change_teller *teller;
    struct pm_text *out;
    /* A change of kind that still waits for the change of number; 0: none. */
    int64_t line;
    enum pm_line_kind was, now;
};

static void split(const char *line, size_t length, struct words *words)
{
    const char *at = line, *end = line + length;
    words->count = 0;
    while (words->count < WORDS && at < end) {
        size_t size = 0;
        while (at + size < end && at[size] != ' ')
            size++;
        if (size >= sizeof words->text[0])
            break;
        char *word = words->text[words->count];
        memcpy(word, at, size);
        word[size] = '\0';
        if (!pm_change_number(word, &words->number[words->count]))
            words->number[words->count] = -1;
        words->count++;
        at += size;
        if (at < end)
            at++;
    }
    words->rest = at;
}

static enum pm_line_kind kind_of(const char *word)
{
    int64_t kind = PM_LINE_MATERIAL;
    pm_line_field_read(PM_FIELD_KIND, word, &kind);
    return (enum pm_line_kind)kind;
}

static int64_t refer(const struct telling *telling, enum pm_line_kind kind, int64_t id)
{
    return id <= 0 ? id
                   : telling->teller->refer(telling->teller->context, kind == PM_LINE_ACCORD, id);
}

/* "new" and "gone": a line with all its fields. */
static void tell_line(const struct telling *telling, struct words *words)
{
    const enum pm_line_kind kind = kind_of(words->text[3]);
    telling->teller->known(telling->teller->context, words->number[2], kind == PM_LINE_ACCORD,
                           words->number[4]);
    words->number[4] = refer(telling, kind, words->number[4]);
    words->number[6] = refer(telling, PM_LINE_MATERIAL, words->number[6]);
}

/* The numbers that a line had and has, in the kinds that it had and has. */
static void tell_ref(struct telling *telling, int64_t line, int64_t *was, int64_t *now)
{
    const struct pm_change_teller *teller = telling->teller;
    bool accord;
    if (telling->line != line) {
        teller->standing(teller->context, line, &accord);
        telling->was = telling->now = accord ? PM_LINE_ACCORD : PM_LINE_MATERIAL;
    }
    teller->known(teller->context, line, telling->now == PM_LINE_ACCORD, *now);
    *was = refer(telling, telling->was, *was);
    *now = refer(telling, telling->now, *now);
    telling->line = 0;
}

/* A kind that changed while the number stayed: there it may be two. */
static void tell_waiting(struct telling *telling)
{
    const int64_t line = telling->line;
    bool accord;
    if (line == 0)
        return;
    int64_t was = telling->teller->standing(telling->teller->context, line, &accord), now = was;
    tell_ref(telling, line, &was, &now);
    pm_text_addf(telling->out, "line %" PRId64 " %s %" PRId64 " %" PRId64 "\n", line,
                 pm_line_field_name(PM_FIELD_REF), was, now);
}

/* "line ID FIELD OLD NEW" */
static void tell_edit(struct telling *telling, struct words *words)
{
    switch (pm_line_field_from_name(words->text[2])) {
    case PM_FIELD_KIND:
        telling->line = words->number[1];
        telling->was = kind_of(words->text[3]);
        telling->now = kind_of(words->text[4]);
        break;
    case PM_FIELD_REF:
        tell_ref(telling, words->number[1], &words->number[3], &words->number[4]);
        break;
    case PM_FIELD_SOLVENT:
        words->number[3] = refer(telling, PM_LINE_MATERIAL, words->number[3]);
        words->number[4] = refer(telling, PM_LINE_MATERIAL, words->number[4]);
        break;
    default:
        break;
    }
}

static void put(struct pm_text *out, const struct words *words, const char *end)
{
    for (size_t i = 0; i < words->count; i++)
        if (words->number[i] >= 0)
            pm_text_addf(out, "%s%" PRId64, i > 0 ? " " : "", words->number[i]);
        else
            pm_text_addf(out, "%s%s", i > 0 ? " " : "", words->text[i]);
    if (words->rest < end) {
        pm_text_add_char(out, ' ');
        pm_text_add_bytes(out, words->rest, (size_t)(end - words->rest));
    }
    pm_text_add_char(out, '\n');
}

/* False: the line speaks of nothing outside the trial. */
static bool tell(struct telling *telling, struct words *words)
{
    const char *what = words->text[0];
    if (words->count == WORDS && (strcmp(what, "new") == 0 || strcmp(what, "gone") == 0))
        tell_line(telling, words);
    else if (words->count == 3 && strcmp(what, "parent") == 0)
        for (size_t i = 1; i < 3; i++)
            words->number[i] = refer(telling, PM_LINE_ACCORD, words->number[i]);
    else if (words->count >= 5 && strcmp(what, "line") == 0 &&
             pm_line_field_from_name(words->text[2]) != PM_FIELD_COMMENT)
        tell_edit(telling, words);
    else
        return false;
    return true;
}

static bool goes_on_with_ref(const struct telling *telling, const struct words *words)
{
    return words->count >= 5 && strcmp(words->text[0], "line") == 0 &&
           words->number[1] == telling->line &&
           pm_line_field_from_name(words->text[2]) == PM_FIELD_REF;
}

enum pm_status pm_change_tell(const char *change, const struct pm_change_teller *teller,
                              struct pm_text *out, struct pm_error *err)
{
    struct telling telling = {.teller = teller, .out = out};
    for (const char *at = change; *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        struct words words;
        split(at, length, &words);
        if (!goes_on_with_ref(&telling, &words))
            tell_waiting(&telling);
        if (tell(&telling, &words)) {
            put(out, &words, at + length);
        } else {
            pm_text_add_bytes(out, at, length);
            if (at[length] == '\n')
                pm_text_add_char(out, '\n');
        }
        at += length + (at[length] == '\n');
    }
    tell_waiting(&telling);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}
