/* SPDX-License-Identifier: MIT */
/* Names of attributes, and the members they lie in. */
#include "entity_member.h"

#include "permille/base/text.h"
#include "permille/base/word.h"

#include <ctype.h>
#include <string.h>

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
    buf[0] = '\0';
    strncat(buf, text, size - 1);
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

bool pm_member_is_text(const struct pm_attribute *attribute)
{
    return attribute->kind == PM_ATTRIBUTE_TEXT || attribute->kind == PM_ATTRIBUTE_NOTE ||
           attribute->kind == PM_ATTRIBUTE_CAS;
}

/* It lies in a number of the row. */
static bool is_number(const struct pm_attribute *attribute)
{
    return !pm_member_is_text(attribute) && attribute->kind != PM_ATTRIBUTE_NAMES;
}

size_t pm_member_names(const struct pm_attribute *attribute, const void *row,
                       const char *const **names)
{
    size_t count;
    memcpy(names, (const char *)row + attribute->offset, sizeof *names);
    memcpy(&count, (const char *)row + attribute->beside, sizeof count);
    return count;
}

void pm_member_put_names(const struct pm_attribute *attribute, void *row, const char *const *names,
                         size_t count)
{
    memcpy(member(attribute, row), &names, sizeof names);
    memcpy(beside(attribute, row), &count, sizeof count);
}

const char *pm_member_text(const struct pm_attribute *attribute, const void *row)
{
    const char *text;
    memcpy(&text, (const char *)row + attribute->offset, sizeof text);
    return text;
}

const char *pm_member_text_beside(const struct pm_attribute *attribute, const void *row)
{
    const char *text;
    if (attribute->beside == 0)
        return NULL;
    memcpy(&text, (const char *)row + attribute->beside, sizeof text);
    return text;
}

const char *pm_member_currency(const struct pm_attribute *attribute, const void *row)
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

void pm_member_put_number(const struct pm_attribute *attribute, void *row, int64_t number)
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

void pm_member_put_text(const struct pm_attribute *attribute, void *row, const char *text)
{
    memcpy(member(attribute, row), &text, sizeof text);
}

void pm_member_put_currency(const struct pm_attribute *attribute, void *row, const char *code)
{
    pm_print(beside(attribute, row), 4, "%s", code);
}
