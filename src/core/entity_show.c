/* SPDX-License-Identifier: MIT */
/* Showing an attribute: to people, exactly, in JSON and tables (core/entity.h). */
#include "entity_member.h"

#include "permille/base/amount.h"
#include "permille/base/clock.h"
#include "permille/base/text.h"
#include "permille/base/word.h"

bool pm_attribute_known(const struct pm_attribute *attribute, const void *row)
{
    if (pm_member_is_text(attribute))
        return pm_member_text(attribute, row) != NULL;
    if (attribute->kind == PM_ATTRIBUTE_NAMES) {
        const char *const *names;
        return pm_member_names(attribute, row, &names) > 0;
    }
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        return pm_member_currency(attribute, row)[0] != '\0';
    if (attribute->kind == PM_ATTRIBUTE_FLAG || attribute->kind == PM_ATTRIBUTE_CHOICE)
        return true;
    return pm_attribute_number(attribute, row) != attribute->unknown;
}

static void add_choice(const struct pm_attribute *attribute, const void *row, struct pm_text *out)
{
    size_t length;
    const char *word =
        pm_word_at(attribute->choices, (int)pm_attribute_number(attribute, row), &length);
    if (word != NULL)
        pm_text_add_bytes(out, word, length);
}

static void add_names(const struct pm_attribute *attribute, const void *row, const char *between,
                      struct pm_text *out)
{
    const char *const *names;
    const size_t count = pm_member_names(attribute, row, &names);
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
        pm_text_add(out, pm_member_text(attribute, row));
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
        else if (pm_member_text_beside(attribute, row) != NULL)
            pm_text_add(out, pm_member_text_beside(attribute, row));
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
        pm_text_add(out, pm_mass_format(pm_attribute_number(attribute, row), 2, sign, text));
        break;
    case PM_ATTRIBUTE_NAMES:
        add_names(attribute, row, ", ", out);
        break;
    case PM_ATTRIBUTE_DECIMAL:
        pm_attribute_exact(attribute, row, sign, out);
        break;
    case PM_ATTRIBUTE_SHARE:
        pm_text_add(out, pm_strength_format(pm_attribute_number(attribute, row), sign, text));
        break;
    case PM_ATTRIBUTE_STRENGTH:
        pm_text_add(out, pm_strength_about(pm_attribute_number(attribute, row), sign, text));
        break;
    case PM_ATTRIBUTE_MONEY: {
        const int64_t money = pm_attribute_number(attribute, row);
        pm_text_addf(out, "%s %s",
                     pm_decimal_format(money, 6, pm_decimal_places(money, 6, 2), sign, text),
                     pm_member_currency(attribute, row));
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
        pm_text_addf(out, "%s g",
                     pm_decimal_exact(pm_attribute_number(attribute, row), 6, sign, text));
        break;
    case PM_ATTRIBUTE_DECIMAL:
        pm_text_add(out, pm_decimal_exact(pm_attribute_number(attribute, row), attribute->scale,
                                          sign, text));
        break;
    case PM_ATTRIBUTE_STRENGTH:
    case PM_ATTRIBUTE_SHARE:
        pm_text_add(out, pm_strength_format(pm_attribute_number(attribute, row), sign, text));
        break;
    case PM_ATTRIBUTE_MONEY:
        pm_text_addf(out, "%s %s",
                     pm_decimal_exact(pm_attribute_number(attribute, row), 6, sign, text),
                     pm_member_currency(attribute, row));
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
    const size_t count = pm_member_names(attribute, row, &names);
    pm_json_open(json, '[');
    for (size_t i = 0; i < count; i++)
        pm_json_string(json, names[i]);
    pm_json_close(json, ']');
}

/* Key and value: masses in grams, strengths in percent, times in UTC, spans in seconds, money as a
 * number and beside it "currency"; null while it is unknown. */
static void attribute_json(const struct pm_attribute *attribute, const void *row,
                           struct pm_json *json)
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
    else if (attribute->kind == PM_ATTRIBUTE_DECIMAL)
        pm_json_decimal(json, number, attribute->scale);
    else if (pm_attribute_is_whole(attribute))
        pm_json_int(json, number);
    else if (attribute->kind == PM_ATTRIBUTE_FLAG)
        pm_json_bool(json, number != 0);
    else if (attribute->kind == PM_ATTRIBUTE_TIME)
        pm_json_string(json, pm_time_iso(number, buf));
    else if (pm_member_is_text(attribute))
        pm_json_string(json, pm_member_text(attribute, row));
    else {
        add_plain(attribute, row, &text);
        pm_json_string(json, pm_text_get(&text));
        json->out->failed = json->out->failed || !pm_text_ok(&text);
        pm_text_release(&text);
    }
    if (attribute->kind == PM_ATTRIBUTE_MONEY)
        pm_json_put_string(json, "currency", known ? pm_member_currency(attribute, row) : NULL);
}

void pm_attribute_plain(const struct pm_attribute *attribute, const void *row, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT > PM_TIME_TEXT ? PM_AMOUNT_TEXT : PM_TIME_TEXT];
    if (!pm_attribute_known(attribute, row))
        return;
    if (attribute->kind == PM_ATTRIBUTE_MASS)
        pm_text_add(out, pm_decimal_exact(pm_attribute_number(attribute, row), 6, '.', text));
    else if (attribute->kind == PM_ATTRIBUTE_TIME)
        pm_text_add(out, pm_time_iso(pm_attribute_number(attribute, row), text));
    else
        pm_attribute_exact(attribute, row, '.', out);
}

void pm_entity_json(const struct pm_entity *entity, const void *row, struct pm_json *json)
{
    for (size_t i = 0; i < entity->count; i++)
        if (!entity->attributes[i].typed_only)
            attribute_json(&entity->attributes[i], row, json);
}
