/* SPDX-License-Identifier: MIT */
/* The difference between two states of a trial, written down. */
#include "permille/base/map.h"
#include "permille/core/change.h"

#include "change_format.h"
#include "permille/base/mem.h"

#include <inttypes.h>
#include <string.h>

static void write_comment(struct pm_text *out, const char *comment)
{
    if (comment == NULL) {
        pm_text_add(out, " -");
        return;
    }
    pm_text_add(out, " \"");
    for (; *comment != '\0'; comment++) {
        unsigned char c = (unsigned char)*comment;
        if (c == '"' || c == '\\') {
            pm_text_add_char(out, '\\');
            pm_text_add_char(out, (char)c);
        } else if (c == '\n') {
            pm_text_add(out, "\\n");
        } else if (c == '\r') {
            pm_text_add(out, "\\r");
        } else if (c == '\t') {
            pm_text_add(out, "\\t");
        } else if (c < 0x20 || c == 0x7f) {
            pm_text_addf(out, "\\x%02x", c);
        } else {
            pm_text_add_char(out, (char)c);
        }
    }
    pm_text_add_char(out, '"');
}

static void write_field(struct pm_text *out, const struct pm_line *line, enum pm_line_field field)
{
    if (field == PM_FIELD_COMMENT) {
        write_comment(out, line->comment);
        return;
    }
    int64_t value = pm_line_field_get(line, field);
    const char *word = pm_line_field_word(field, value);
    pm_text_add_char(out, ' ');
    if (word != NULL)
        pm_text_add(out, word);
    else
        pm_text_add_int(out, value);
}

static void write_line(struct pm_text *out, const char *what, size_t place,
                       const struct pm_line *line)
{
    pm_text_add(out, what);
    pm_text_add_char(out, ' ');
    pm_text_add_int(out, (int64_t)place);
    pm_text_add_char(out, ' ');
    pm_text_add_int(out, line->id);
    for (int field = 0; field < PM_FIELD_COUNT; field++)
        write_field(out, line, (enum pm_line_field)field);
    pm_text_add_char(out, '\n');
}

static bool same_field(const struct pm_line *a, const struct pm_line *b, enum pm_line_field field)
{
    if (field != PM_FIELD_COMMENT)
        return pm_line_field_get(a, field) == pm_line_field_get(b, field);
    if (a->comment == NULL || b->comment == NULL)
        return a->comment == b->comment;
    return strcmp(a->comment, b->comment) == 0;
}

static void write_edits(struct pm_text *out, const struct pm_line *before,
                        const struct pm_line *after)
{
    for (int i = 0; i < PM_FIELD_COUNT; i++) {
        enum pm_line_field field = (enum pm_line_field)i;
        if (!same_field(before, after, field)) {
            pm_text_addf(out, "line %" PRId64 " %s", before->id, pm_line_field_name(field));
            write_field(out, before, field);
            write_field(out, after, field);
            pm_text_add_char(out, '\n');
        }
    }
}

static void write_ids(struct pm_text *out, const int64_t *ids, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        pm_text_add_char(out, i == 0 ? ' ' : ',');
        pm_text_add_int(out, ids[i]);
    }
}

/* The lines standing in both, in their order before and after: only the stretch that differs. */
static void write_order(struct pm_text *out, const int64_t *was, const int64_t *now, size_t count)
{
    size_t start = 0;
    while (start < count && was[start] == now[start])
        start++;
    while (count > start && was[count - 1] == now[count - 1])
        count--;
    if (count > start) {
        pm_text_addf(out, "order %zu", start);
        write_ids(out, was + start, count - start);
        write_ids(out, now + start, count - start);
        pm_text_add_char(out, '\n');
    }
}

static void write_head(struct pm_text *out, const struct pm_trial *before,
                       const struct pm_trial *after)
{
    pm_text_add(out, PM_CHANGE_HEAD);
    if (before->base != after->base)
        pm_text_addf(out, "base %" PRId64 " %" PRId64 "\n", before->base, after->base);
    if (before->mode != after->mode)
        pm_text_addf(out, "mode %s %s\n", pm_mode_word(before->mode), pm_mode_word(after->mode));
    if (before->settled != after->settled)
        pm_text_addf(out, "settled %d %d\n", before->settled, after->settled);
    if (before->parent != after->parent)
        pm_text_addf(out, "parent %" PRId64 " %" PRId64 "\n", before->parent, after->parent);
    if (!pm_weight_equal(before->scale, after->scale)) {
        pm_text_addf(out, "scale %" PRId64 " %" PRId64 " %" PRId64 " %" PRId64 "\n",
                     before->scale.digits, before->scale.power, after->scale.digits,
                     after->scale.power);
    }
    if (before->next_id != after->next_id)
        pm_text_addf(out, "next %" PRId64 " %" PRId64 "\n", before->next_id, after->next_id);
}

struct matching {
    struct pm_map before, after; /* id to place */
    int64_t *was, *now;          /* ids standing in both, in the two orders */
    size_t common;
};

static bool match(struct matching *m, const struct pm_trial *before, const struct pm_trial *after)
{
    m->was = pm_alloc_array(before->count, sizeof *m->was);
    m->now = pm_alloc_array(after->count, sizeof *m->now);
    bool fits = m->was != NULL && m->now != NULL;
    for (size_t i = 0; i < before->count && fits; i++)
        fits = pm_map_put_place(&m->before, before->lines[i].id, i);
    for (size_t i = 0; i < after->count && fits; i++)
        fits = pm_map_put_place(&m->after, after->lines[i].id, i);
    if (!fits)
        return false;
    for (size_t i = 0; i < before->count; i++)
        if (pm_map_place(&m->after, before->lines[i].id) != PM_MAP_NONE)
            m->was[m->common++] = before->lines[i].id;
    m->common = 0;
    for (size_t i = 0; i < after->count; i++)
        if (pm_map_place(&m->before, after->lines[i].id) != PM_MAP_NONE)
            m->now[m->common++] = after->lines[i].id;
    return true;
}

enum pm_status pm_change_between(const struct pm_trial *before, const struct pm_trial *after,
                                 struct pm_text *out, struct pm_error *err)
{
    struct matching m = {.common = 0};
    m.before = (struct pm_map){0};
    m.after = (struct pm_map){0};
    bool fits = match(&m, before, after);
    if (fits) {
        write_head(out, before, after);
        for (size_t i = 0; i < before->count; i++) {
            size_t place = pm_map_place(&m.after, before->lines[i].id);
            if (place == PM_MAP_NONE)
                write_line(out, "gone", i, &before->lines[i]);
            else
                write_edits(out, &before->lines[i], &after->lines[place]);
        }
        write_order(out, m.was, m.now, m.common);
        for (size_t i = 0; i < after->count; i++)
            if (pm_map_place(&m.before, after->lines[i].id) == PM_MAP_NONE)
                write_line(out, "new", i, &after->lines[i]);
        fits = pm_text_ok(out);
    }
    pm_map_release(&m.before);
    pm_map_release(&m.after);
    pm_free(m.was);
    pm_free(m.now);
    return fits ? PM_OK : pm_fail_memory(err);
}
