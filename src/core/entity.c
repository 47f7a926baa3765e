/* SPDX-License-Identifier: MIT */
/* Reading and showing whatever an entity's description says. */
#include "permille/core/entity.h"

#include "permille/base/amount.h"
#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/cas.h"
#include "permille/core/currency.h"

#include <ctype.h>
#include <string.h>

#define LABEL_BYTES 64

const struct pm_attribute *pm_entity_find(const struct pm_entity *entity, const char *key)
{
    for (size_t i = 0; i < entity->count; i++)
        if (strcmp(entity->attributes[i].key, key) == 0)
            return &entity->attributes[i];
    return NULL;
}

char *pm_attribute_option(const struct pm_attribute *attribute, char *buf)
{
    pm_print(buf, PM_OPTION_TEXT, "%s",
             attribute->option != NULL ? attribute->option : attribute->key);
    for (char *at = buf; *at != '\0'; at++)
        if (*at == '_')
            *at = '-';
    return buf;
}

const char *pm_attribute_words(const struct pm_attribute *attribute, char *buf)
{
    size_t length = 0;
    if (attribute->kind != PM_ATTRIBUTE_CHOICE)
        return NULL;
    const char *last = pm_word_at(attribute->choices, (int)attribute->most, &length);
    if (attribute->most == 0 || last == NULL)
        return attribute->choices;
    pm_print(buf, PM_WORDS_TEXT, "%.*s", (int)(last + length - attribute->choices),
             attribute->choices);
    return buf;
}

/* As it stands within a sentence: "CAS number" stays so. */
static char *lowered(const char *text, char *buf, size_t size)
{
    pm_print(buf, size, "%s", text);
    if (buf[0] != '\0' && !isupper((unsigned char)buf[1]))
        buf[0] = (char)tolower((unsigned char)buf[0]);
    return buf;
}

char *pm_attribute_label(const struct pm_attribute *attribute, char *buf, size_t size)
{
    return lowered(attribute->called != NULL ? attribute->called : attribute->title, buf, size);
}

char *pm_attribute_brief(const struct pm_attribute *attribute, char *buf, size_t size)
{
    return lowered(attribute->brief != NULL ? attribute->brief : attribute->title, buf, size);
}

/* ---- the members ---- */

static void *member(const struct pm_attribute *attribute, void *row)
{
    return (char *)row + attribute->offset;
}

static void *beside(const struct pm_attribute *attribute, void *row)
{
    return (char *)row + attribute->beside;
}

static bool is_text(const struct pm_attribute *attribute)
{
    return attribute->kind == PM_ATTRIBUTE_TEXT || attribute->kind == PM_ATTRIBUTE_NOTE ||
           attribute->kind == PM_ATTRIBUTE_CAS;
}

/* It lies in a number of the row. */
static bool is_number(const struct pm_attribute *attribute)
{
    return !is_text(attribute) && attribute->kind != PM_ATTRIBUTE_NAMES;
}

static size_t names_of(const struct pm_attribute *attribute, const void *row,
                       const char *const **names)
{
    size_t count;
    memcpy(names, (const char *)row + attribute->offset, sizeof *names);
    memcpy(&count, (const char *)row + attribute->beside, sizeof count);
    return count;
}

static void put_names(const struct pm_attribute *attribute, void *row, const char *const *names,
                      size_t count)
{
    memcpy(member(attribute, row), &names, sizeof names);
    memcpy(beside(attribute, row), &count, sizeof count);
}

static const char *text_of(const struct pm_attribute *attribute, const void *row)
{
    const char *text;
    memcpy(&text, (const char *)row + attribute->offset, sizeof text);
    return text;
}

static const char *text_beside(const struct pm_attribute *attribute, const void *row)
{
    const char *text;
    if (attribute->beside == 0)
        return NULL;
    memcpy(&text, (const char *)row + attribute->beside, sizeof text);
    return text;
}

static const char *currency_of(const struct pm_attribute *attribute, const void *row)
{
    return (const char *)row + attribute->beside;
}

static int64_t number_of(const struct pm_attribute *attribute, const void *row)
{
    const char *at = (const char *)row + attribute->offset;
    int64_t number;
    int small;
    switch (attribute->kind) {
    case PM_ATTRIBUTE_LEVEL:
    case PM_ATTRIBUTE_CHOICE:
        memcpy(&small, at, sizeof small);
        return small;
    case PM_ATTRIBUTE_FLAG:
        return *(const bool *)at;
    default:
        memcpy(&number, at, sizeof number);
        return number;
    }
}

int64_t pm_attribute_number(const struct pm_attribute *attribute, const void *row)
{
    return is_number(attribute) ? number_of(attribute, row) : 0;
}

static void put_number(const struct pm_attribute *attribute, void *row, int64_t number)
{
    void *at = member(attribute, row);
    const int small = (int)number;
    const bool flag = number != 0;
    switch (attribute->kind) {
    case PM_ATTRIBUTE_LEVEL:
    case PM_ATTRIBUTE_CHOICE:
        memcpy(at, &small, sizeof small);
        break;
    case PM_ATTRIBUTE_FLAG:
        memcpy(at, &flag, sizeof flag);
        break;
    default:
        memcpy(at, &number, sizeof number);
    }
}

static void put_text(const struct pm_attribute *attribute, void *row, const char *text)
{
    memcpy(member(attribute, row), &text, sizeof text);
}

/* ---- reading ---- */

static enum pm_status read_cas(const struct pm_attribute *attribute, const char *text, void *row,
                               struct pm_arena *arena, struct pm_error *err)
{
    char number[PM_CAS_TEXT];
    enum pm_status status = pm_cas_read(text, number, err);
    if (status == PM_OK && row != NULL)
        put_text(attribute, row, pm_arena_text(arena, number));
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
        put_text(attribute, row, clean[0] != '\0' ? pm_arena_text(arena, clean) : NULL);
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
    put_names(attribute, row, names, list->count);
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

static enum pm_status read_whole(const struct pm_attribute *attribute, const char *text,
                                 int64_t *out, struct pm_error *err)
{
    char title[LABEL_BYTES], what[LABEL_BYTES + 4];
    pm_print(what, sizeof what, "The %s", pm_attribute_label(attribute, title, sizeof title));
    enum pm_status status = pm_decimal_read(text, 0, what, out, err);
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

static enum pm_status read_number(const struct pm_attribute *attribute, const char *text,
                                  const char *usual, int64_t *out, char *currency,
                                  struct pm_error *err)
{
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
        return read_mass(attribute, text, out, err);
    case PM_ATTRIBUTE_STRENGTH:
        *out = 0;
        return attribute->unknown != 0 && strcmp(text, "0") == 0 ? PM_OK
                                                                 : pm_strength_read(text, out, err);
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
    if (is_text(attribute))
        put_text(attribute, row, NULL);
    else if (attribute->kind == PM_ATTRIBUTE_NAMES)
        put_names(attribute, row, NULL, 0);
    else
        put_number(attribute, row, attribute->unknown);
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        memset(beside(attribute, row), 0, 1);
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
    if (is_text(attribute))
        return read_text(attribute, text, row, arena, err);
    if (attribute->kind == PM_ATTRIBUTE_NAMES)
        return read_names(attribute, text, row, arena, err);
    enum pm_status status = read_number(attribute, text, usual, &number, currency, err);
    if (status != PM_OK || row == NULL || attribute->kind == PM_ATTRIBUTE_REFERENCE)
        return status;
    put_number(attribute, row, number);
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        memcpy(beside(attribute, row), currency, sizeof currency);
    return PM_OK;
}

enum pm_status pm_attribute_read(const struct pm_attribute *attribute, const char *text, void *row,
                                 struct pm_arena *arena, struct pm_error *err)
{
    return pm_error_at(err, attribute->key, read_into(attribute, text, "", row, arena, err));
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
        put_number(attribute, row, id);
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

/* ---- showing ---- */

bool pm_attribute_known(const struct pm_attribute *attribute, const void *row)
{
    if (is_text(attribute))
        return text_of(attribute, row) != NULL;
    if (attribute->kind == PM_ATTRIBUTE_NAMES) {
        const char *const *names;
        return names_of(attribute, row, &names) > 0;
    }
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        return currency_of(attribute, row)[0] != '\0';
    if (attribute->kind == PM_ATTRIBUTE_FLAG || attribute->kind == PM_ATTRIBUTE_CHOICE)
        return true;
    return number_of(attribute, row) != attribute->unknown;
}

static void add_choice(const struct pm_attribute *attribute, const void *row, struct pm_text *out)
{
    size_t length;
    const char *word = pm_word_at(attribute->choices, (int)number_of(attribute, row), &length);
    if (word != NULL)
        pm_text_add_bytes(out, word, length);
}

static void add_names(const struct pm_attribute *attribute, const void *row, const char *between,
                      struct pm_text *out)
{
    const char *const *names;
    const size_t count = names_of(attribute, row, &names);
    for (size_t i = 0; i < count; i++)
        pm_text_addf(out, "%s%s", i > 0 ? between : "", names[i]);
}

/* What looks the same whether it is read or edited. */
static void add_plain(const struct pm_attribute *attribute, const void *row, struct pm_text *out)
{
    char text[PM_TIME_TEXT];
    const int64_t number = pm_attribute_number(attribute, row);
    switch (attribute->kind) {
    case PM_ATTRIBUTE_NAMES:
        add_names(attribute, row, "; ", out);
        break;
    case PM_ATTRIBUTE_TEXT:
    case PM_ATTRIBUTE_NOTE:
    case PM_ATTRIBUTE_CAS:
        pm_text_add(out, text_of(attribute, row));
        break;
    case PM_ATTRIBUTE_DAY:
        pm_text_add(out, pm_day_format(number, text));
        break;
    case PM_ATTRIBUTE_TIME:
        pm_text_add(out, pm_time_format(number, text));
        break;
    case PM_ATTRIBUTE_SPAN:
        pm_text_add(out, pm_span_format(number, text));
        break;
    case PM_ATTRIBUTE_COUNT:
    case PM_ATTRIBUTE_LEVEL:
        pm_text_addf(out, "%lld", (long long)number);
        break;
    case PM_ATTRIBUTE_CHOICE:
        add_choice(attribute, row, out);
        break;
    case PM_ATTRIBUTE_FLAG:
        pm_text_add(out, number ? "yes" : "no");
        break;
    case PM_ATTRIBUTE_REFERENCE:
        if (attribute->beside == 0)
            pm_text_addf(out, "%lld", (long long)number);
        else if (text_beside(attribute, row) != NULL)
            pm_text_add(out, text_beside(attribute, row));
        break;
    default:
        break;
    }
}

void pm_attribute_show(const struct pm_attribute *attribute, const void *row, char sign,
                       struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    if (!pm_attribute_known(attribute, row))
        return;
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
        pm_text_add(out, pm_mass_format(number_of(attribute, row), 2, sign, text));
        break;
    case PM_ATTRIBUTE_NAMES:
        add_names(attribute, row, ", ", out);
        break;
    case PM_ATTRIBUTE_SHARE:
        pm_text_add(out, pm_strength_format(number_of(attribute, row), sign, text));
        break;
    case PM_ATTRIBUTE_STRENGTH:
        pm_text_add(out, pm_strength_about(number_of(attribute, row), sign, text));
        break;
    case PM_ATTRIBUTE_MONEY: {
        const int64_t money = number_of(attribute, row);
        pm_text_addf(out, "%s %s",
                     pm_decimal_format(money, 6, pm_decimal_places(money, 6, 2), sign, text),
                     currency_of(attribute, row));
        break;
    }
    default:
        add_plain(attribute, row, out);
    }
}

void pm_attribute_exact(const struct pm_attribute *attribute, const void *row, char sign,
                        struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    if (!pm_attribute_known(attribute, row))
        return;
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
        pm_text_addf(out, "%s g", pm_decimal_exact(number_of(attribute, row), 6, sign, text));
        break;
    case PM_ATTRIBUTE_STRENGTH:
    case PM_ATTRIBUTE_SHARE:
        pm_text_add(out, pm_strength_format(number_of(attribute, row), sign, text));
        break;
    case PM_ATTRIBUTE_MONEY:
        pm_text_addf(out, "%s %s", pm_decimal_exact(number_of(attribute, row), 6, sign, text),
                     currency_of(attribute, row));
        break;
    default:
        add_plain(attribute, row, out);
    }
}

bool pm_attribute_is_whole(const struct pm_attribute *attribute)
{
    return attribute->kind == PM_ATTRIBUTE_SPAN || attribute->kind == PM_ATTRIBUTE_COUNT ||
           attribute->kind == PM_ATTRIBUTE_LEVEL ||
           (attribute->kind == PM_ATTRIBUTE_REFERENCE && attribute->beside == 0);
}

char *pm_attribute_key(const struct pm_attribute *attribute, char *buf)
{
    const char *unit = attribute->kind == PM_ATTRIBUTE_MASS       ? "_g"
                       : attribute->kind == PM_ATTRIBUTE_STRENGTH ? "_percent"
                       : attribute->kind == PM_ATTRIBUTE_SPAN     ? "_seconds"
                                                                  : "";
    pm_print(buf, PM_OPTION_TEXT, "%s%s",
             attribute->json != NULL ? attribute->json : attribute->key,
             attribute->json != NULL ? "" : unit);
    return buf;
}

static void put_names_json(const struct pm_attribute *attribute, const void *row,
                           struct pm_json *json)
{
    const char *const *names;
    const size_t count = names_of(attribute, row, &names);
    pm_json_open(json, '[');
    for (size_t i = 0; i < count; i++)
        pm_json_string(json, names[i]);
    pm_json_close(json, ']');
}

void pm_attribute_json(const struct pm_attribute *attribute, const void *row, struct pm_json *json)
{
    char buf[PM_TIME_TEXT], key[PM_OPTION_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    const bool known = pm_attribute_known(attribute, row);
    const int64_t number = pm_attribute_number(attribute, row);
    pm_json_key(json, pm_attribute_key(attribute, key));
    if (attribute->kind == PM_ATTRIBUTE_NAMES)
        put_names_json(attribute, row, json);
    else if (!known)
        pm_json_null(json);
    else if (attribute->kind == PM_ATTRIBUTE_MASS || attribute->kind == PM_ATTRIBUTE_MONEY)
        pm_json_decimal(json, number, 6);
    else if (attribute->kind == PM_ATTRIBUTE_STRENGTH)
        pm_json_decimal(json, number, 7);
    else if (attribute->kind == PM_ATTRIBUTE_SHARE)
        pm_json_decimal(json, number, 9);
    else if (pm_attribute_is_whole(attribute))
        pm_json_int(json, number);
    else if (attribute->kind == PM_ATTRIBUTE_FLAG)
        pm_json_bool(json, number != 0);
    else if (attribute->kind == PM_ATTRIBUTE_TIME)
        pm_json_string(json, pm_time_iso(number, buf));
    else if (is_text(attribute))
        pm_json_string(json, text_of(attribute, row));
    else {
        add_plain(attribute, row, &text);
        pm_json_string(json, pm_text_get(&text));
        json->out->failed = json->out->failed || !pm_text_ok(&text);
        pm_text_release(&text);
    }
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        pm_json_put_string(json, "currency", known ? currency_of(attribute, row) : NULL);
}

void pm_attribute_plain(const struct pm_attribute *attribute, const void *row, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT > PM_TIME_TEXT ? PM_AMOUNT_TEXT : PM_TIME_TEXT];
    if (!pm_attribute_known(attribute, row))
        return;
    if (attribute->kind == PM_ATTRIBUTE_MASS)
        pm_text_add(out, pm_decimal_exact(number_of(attribute, row), 6, '.', text));
    else if (attribute->kind == PM_ATTRIBUTE_TIME)
        pm_text_add(out, pm_time_iso(number_of(attribute, row), text));
    else
        pm_attribute_exact(attribute, row, '.', out);
}

void pm_entity_json(const struct pm_entity *entity, const void *row, struct pm_json *json)
{
    for (size_t i = 0; i < entity->count; i++)
        if (!entity->attributes[i].typed_only)
            pm_attribute_json(&entity->attributes[i], row, json);
}
