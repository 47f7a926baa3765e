/* SPDX-License-Identifier: MIT */
/* Reading what was typed of an attribute (core/entity.h). */
#include "entity_member.h"

#include "permille/base/amount.h"
#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/cas.h"
#include "permille/core/currency.h"

#include <string.h>

#define LABEL_BYTES 64

static enum pm_status read_cas(const struct pm_attribute *attribute, const char *text, void *row,
                               struct pm_arena *arena, struct pm_error *err)
{
    char number[PM_CAS_TEXT];
    enum pm_status status = pm_cas_read(text, number, err);
    if (status == PM_OK && row != NULL)
        pm_member_put_text(attribute, row, pm_arena_text(arena, number));
    return status == PM_OK && arena != NULL ? pm_arena_status(arena, err) : status;
}

static enum pm_status read_text(const struct pm_attribute *attribute, const char *text, void *row,
                                struct pm_arena *arena, struct pm_error *err)
{
    char title[LABEL_BYTES], what[LABEL_BYTES + 4];
    char *clean;
    pm_print(what, sizeof what, "The %s", pm_attribute_label(attribute, title, sizeof title));
    if (attribute->kind == PM_ATTRIBUTE_CAS)
        return read_cas(attribute, text, row, arena, err);
    enum pm_status status = attribute->kind == PM_ATTRIBUTE_NOTE
                                ? pm_note_clean(text, what, attribute->limit, &clean, err)
                                : pm_name_clean(text, what, &clean, err);
    if (status != PM_OK)
        return status;
    if (row != NULL)
        pm_member_put_text(attribute, row, clean[0] != '\0' ? pm_arena_text(arena, clean) : NULL);
    pm_free(clean);
    return arena != NULL ? pm_arena_status(arena, err) : PM_OK;
}

/* One piece of "one; two"; what is blank is none. */
static enum pm_status read_piece(const char *text, size_t length, struct pm_texts *list,
                                 struct pm_error *err)
{
    char *clean = NULL;
    const char *piece = pm_arena_text_bytes(&list->arena, text, length);
    if (piece == NULL || pm_is_blank(piece))
        return pm_arena_status(&list->arena, err);
    enum pm_status status = pm_name_clean(piece, "A name", &clean, err);
    const char **item = status == PM_OK ? pm_list_add(list) : NULL;
    if (item != NULL)
        *item = pm_arena_text(&list->arena, clean);
    pm_free(clean);
    return status == PM_OK ? pm_arena_status(&list->arena, err) : status;
}

static enum pm_status keep_names(const struct pm_attribute *attribute, const struct pm_texts *list,
                                 void *row, struct pm_arena *arena, struct pm_error *err)
{
    const char **names = pm_arena_array(arena, list->count, sizeof *names);
    for (size_t i = 0; names != NULL && i < list->count; i++)
        names[i] = pm_arena_text(arena, list->items[i]);
    pm_member_put_names(attribute, row, names, list->count);
    return pm_arena_status(arena, err);
}

static enum pm_status read_names(const struct pm_attribute *attribute, const char *text, void *row,
                                 struct pm_arena *arena, struct pm_error *err)
{
    struct pm_texts list = {0};
    enum pm_status status = PM_OK;
    for (const char *at = text; status == PM_OK && *at != '\0'; at += *at == ';') {
        const size_t length = strcspn(at, ";");
        status = read_piece(at, length, &list, err);
        at += length;
    }
    if (status == PM_OK && row != NULL)
        status = keep_names(attribute, &list, row, arena, err);
    pm_list_release(&list);
    return status;
}

/* "5%", "0.05"; a bare number of 1 or more is percent. */
static enum pm_status read_share(const struct pm_attribute *attribute, const char *text,
                                 int64_t *out, struct pm_error *err)
{
    char title[LABEL_BYTES];
    pm_attribute_label(attribute, title, sizeof title);
    if (strpbrk(text, "%‰p") == NULL && pm_decimal_read(text, 9, title, out, NULL) == PM_OK &&
        *out < PM_NEAT)
        return PM_OK;
    return pm_strength_read(text, out, err);
}

static enum pm_status read_decimal(const struct pm_attribute *attribute, const char *text,
                                   int64_t *out, struct pm_error *err)
{
    char title[LABEL_BYTES], what[LABEL_BYTES + 4];
    pm_print(what, sizeof what, "The %s", pm_attribute_label(attribute, title, sizeof title));
    return pm_decimal_read(text, attribute->scale, what, out, err);
}

/* Its scale is 0. */
static enum pm_status read_whole(const struct pm_attribute *attribute, const char *text,
                                 int64_t *out, struct pm_error *err)
{
    enum pm_status status = read_decimal(attribute, text, out, err);
    if (status != PM_OK || (*out >= attribute->least && *out <= attribute->most))
        return status;
    return pm_fail(err, PM_INVALID, "%s goes from %lld to %lld.", attribute->title,
                   (long long)attribute->least, (long long)attribute->most);
}

/* "a|b|c" as "a, b or c". */
static void list_choices(const char *choices, struct pm_text *out)
{
    size_t length, next;
    const char *word;
    for (int i = 0; (word = pm_word_at(choices, i, &length)) != NULL; i++) {
        if (i > 0)
            pm_text_add(out, pm_word_at(choices, i + 1, &next) != NULL ? ", " : " or ");
        pm_text_add_bytes(out, word, length);
    }
}

static enum pm_status read_choice(const struct pm_attribute *attribute, const char *text,
                                  int64_t *out, struct pm_error *err)
{
    struct pm_text all = PM_TEXT_EMPTY;
    char buf[PM_WORDS_TEXT];
    const char *words = pm_attribute_words(attribute, buf);
    const int place = pm_word_place_among(attribute->choices, text);
    *out = place;
    if (place >= 0)
        return PM_OK;
    list_choices(words, &all);
    enum pm_status status =
        pm_fail(err, PM_INVALID, "\"%s\" is none of %s.", text, pm_text_get(&all));
    pm_text_release(&all);
    return status;
}

static enum pm_status read_flag(const char *text, int64_t *out, struct pm_error *err)
{
    static const char *const words[] = {"no", "yes", "false", "true", "0", "1"};
    const int place = pm_word_place(words, sizeof words / sizeof words[0], text);
    *out = place & 1;
    return place >= 0 ? PM_OK : pm_fail(err, PM_INVALID, "\"%s\" is neither yes nor no.", text);
}

static enum pm_status read_mass(const struct pm_attribute *attribute, const char *text,
                                int64_t *out, struct pm_error *err)
{
    const bool minus = attribute->least < 0 && text[0] == '-';
    enum pm_status status = pm_mass_read(text + minus, out, err);
    if (status == PM_OK && minus)
        *out = -*out;
    return status;
}

/* "0", "0 %", "0.0%". */
static bool is_nothing(const char *text)
{
    const size_t digits = strspn(text, "0.,");
    return digits > 0 && text[digits + strspn(text + digits, " %")] == '\0' && *text == '0';
}

static enum pm_status read_number(const struct pm_attribute *attribute, const char *text,
                                  const char *usual, int64_t *out, char *currency,
                                  struct pm_error *err)
{
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
        return read_mass(attribute, text, out, err);
    case PM_ATTRIBUTE_STRENGTH:
        *out = 0;
        return attribute->may_be_0 && is_nothing(text) ? PM_OK : pm_strength_read(text, out, err);
    case PM_ATTRIBUTE_SHARE:
        return read_share(attribute, text, out, err);
    case PM_ATTRIBUTE_DAY:
        return pm_day_read(text, out, err);
    case PM_ATTRIBUTE_TIME:
        return pm_time_read(text, out, err);
    case PM_ATTRIBUTE_SPAN:
        return pm_span_read(text, out, err);
    case PM_ATTRIBUTE_MONEY:
        return pm_price_read_usual(text, usual, out, currency, err);
    case PM_ATTRIBUTE_DECIMAL:
        return read_decimal(attribute, text, out, err);
    case PM_ATTRIBUTE_COUNT:
    case PM_ATTRIBUTE_LEVEL:
        return read_whole(attribute, text, out, err);
    case PM_ATTRIBUTE_CHOICE:
        return read_choice(attribute, text, out, err);
    case PM_ATTRIBUTE_FLAG:
        return read_flag(text, out, err);
    default:
        return PM_OK;
    }
}

static void clear(const struct pm_attribute *attribute, void *row)
{
    if (pm_member_is_text(attribute))
        pm_member_put_text(attribute, row, NULL);
    else if (attribute->kind == PM_ATTRIBUTE_NAMES)
        pm_member_put_names(attribute, row, NULL, 0);
    else
        pm_member_put_number(attribute, row, attribute->unknown);
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        pm_member_put_currency(attribute, row, "");
}

static enum pm_status take_away(const struct pm_attribute *attribute, void *row,
                                struct pm_error *err)
{
    char title[LABEL_BYTES];
    if (attribute->required)
        return pm_fail(err, PM_INVALID, "The %s is needed.",
                       pm_attribute_label(attribute, title, sizeof title));
    if (row != NULL)
        clear(attribute, row);
    return PM_OK;
}

/* usual: the currency of money without one. */
static enum pm_status read_into(const struct pm_attribute *attribute, const char *text,
                                const char *usual, void *row, struct pm_arena *arena,
                                struct pm_error *err)
{
    int64_t number = 0;
    char currency[4] = "";
    if (pm_is_blank(text))
        return take_away(attribute, row, err);
    if (pm_member_is_text(attribute))
        return read_text(attribute, text, row, arena, err);
    if (attribute->kind == PM_ATTRIBUTE_NAMES)
        return read_names(attribute, text, row, arena, err);
    enum pm_status status = read_number(attribute, text, usual, &number, currency, err);
    if (status != PM_OK || row == NULL || attribute->kind == PM_ATTRIBUTE_REFERENCE)
        return status;
    pm_member_put_number(attribute, row, number);
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        pm_member_put_currency(attribute, row, currency);
    return PM_OK;
}

enum pm_status pm_attribute_check(const struct pm_attribute *attribute, const char *text,
                                  struct pm_error *err)
{
    /* Whether there is a usual currency is seen when it is taken: any will do meanwhile. */
    return pm_error_at(err, attribute->key, read_into(attribute, text, "EUR", NULL, NULL, err));
}

static enum pm_status find_reference(const struct pm_attribute *attribute, const char *text,
                                     void *row, const struct pm_naming *naming,
                                     struct pm_error *err)
{
    int64_t id = 0;
    enum pm_status status = naming->find(naming->context, attribute, text, &id, err);
    if (status == PM_OK)
        pm_member_put_number(attribute, row, id);
    return pm_error_at(err, attribute->key, status);
}

enum pm_status pm_entity_read(const struct pm_entity *entity, const char *const *values, void *row,
                              struct pm_arena *arena, const struct pm_naming *naming,
                              struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < entity->count; i++) {
        const struct pm_attribute *attribute = &entity->attributes[i];
        if (values[i] == NULL)
            continue;
        if (attribute->kind == PM_ATTRIBUTE_REFERENCE && naming != NULL && !pm_is_blank(values[i]))
            status = find_reference(attribute, values[i], row, naming, err);
        else
            status =
                pm_error_at(err, attribute->key,
                            read_into(attribute, values[i], naming != NULL ? naming->currency : "",
                                      row, arena, err));
    }
    return status;
}

void pm_entity_clear(const struct pm_entity *entity, void *row)
{
    for (size_t i = 0; i < entity->count; i++)
        clear(&entity->attributes[i], row);
}
