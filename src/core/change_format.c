/* SPDX-License-Identifier: MIT */
/* The fields of a line as a change names and writes them. */
#include "change_format.h"

#include <string.h>

static const char *const names[PM_FIELD_COUNT] = {
    [PM_FIELD_KIND] = "kind",       [PM_FIELD_REF] = "ref",       [PM_FIELD_STRENGTH] = "strength",
    [PM_FIELD_SOLVENT] = "solvent", [PM_FIELD_PARTS] = "parts",   [PM_FIELD_STANCE] = "stance",
    [PM_FIELD_CORE] = "core",       [PM_FIELD_WEIGHT] = "weight", [PM_FIELD_RESTED] = "rested",
    [PM_FIELD_SHARE] = "share",     [PM_FIELD_POWER] = "power",   [PM_FIELD_REST] = "rest",
    [PM_FIELD_COMMENT] = "comment",
};

static const char *const kind_words[] = {
    [PM_LINE_MATERIAL] = "material",
    [PM_LINE_ACCORD] = "accord",
};

const char *pm_line_field_name(enum pm_line_field field)
{
    return names[field];
}

enum pm_line_field pm_line_field_from_name(const char *name)
{
    int field = 0;
    while (field < PM_FIELD_COUNT && strcmp(names[field], name) != 0)
        field++;
    return (enum pm_line_field)field;
}

int64_t pm_line_field_get(const struct pm_line *line, enum pm_line_field field)
{
    switch (field) {
    case PM_FIELD_KIND:
        return line->kind;
    case PM_FIELD_REF:
        return line->ref;
    case PM_FIELD_STRENGTH:
        return line->strength;
    case PM_FIELD_SOLVENT:
        return line->solvent;
    case PM_FIELD_PARTS:
        return line->parts;
    case PM_FIELD_STANCE:
        return line->stance;
    case PM_FIELD_CORE:
        return line->core;
    case PM_FIELD_WEIGHT:
        return line->weight;
    case PM_FIELD_RESTED:
        return line->rested;
    case PM_FIELD_SHARE:
        return line->share.digits;
    case PM_FIELD_POWER:
        return line->share.power;
    case PM_FIELD_REST:
        return line->rested_as;
    case PM_FIELD_COMMENT:
    case PM_FIELD_COUNT:
        break;
    }
    return 0;
}

void pm_line_field_set(struct pm_line *line, enum pm_line_field field, int64_t value)
{
    switch (field) {
    case PM_FIELD_KIND:
        line->kind = (enum pm_line_kind)value;
        break;
    case PM_FIELD_REF:
        line->ref = value;
        break;
    case PM_FIELD_STRENGTH:
        line->strength = value;
        break;
    case PM_FIELD_SOLVENT:
        line->solvent = value;
        break;
    case PM_FIELD_PARTS:
        line->parts = value;
        break;
    case PM_FIELD_STANCE:
        line->stance = (enum pm_stance)value;
        break;
    case PM_FIELD_CORE:
        line->core = (int)value;
        break;
    case PM_FIELD_WEIGHT:
        line->weight = value;
        break;
    case PM_FIELD_RESTED:
        line->rested = value;
        break;
    case PM_FIELD_SHARE:
        line->share.digits = value;
        break;
    case PM_FIELD_POWER:
        line->share.power = value;
        break;
    case PM_FIELD_REST:
        line->rested_as = (enum pm_stance)value;
        break;
    case PM_FIELD_COMMENT:
    case PM_FIELD_COUNT:
        break;
    }
}

const char *pm_line_field_word(enum pm_line_field field, int64_t value)
{
    if (field == PM_FIELD_KIND)
        return kind_words[value];
    return field == PM_FIELD_STANCE || field == PM_FIELD_REST
               ? pm_stance_word((enum pm_stance)value)
               : NULL;
}

bool pm_change_number(const char *word, int64_t *out)
{
    int64_t value = 0;
    if (word[0] == '\0' || (word[0] == '0' && word[1] != '\0'))
        return false;
    for (; *word != '\0'; word++) {
        int digit = *word - '0';
        if (digit < 0 || digit > 9 || value > (INT64_MAX - digit) / 10)
            return false;
        value = value * 10 + digit;
    }
    *out = value;
    return true;
}

bool pm_line_field_read(enum pm_line_field field, const char *word, int64_t *out)
{
    if (field == PM_FIELD_KIND) {
        bool accord = strcmp(word, kind_words[PM_LINE_ACCORD]) == 0;
        *out = accord ? PM_LINE_ACCORD : PM_LINE_MATERIAL;
        return accord || strcmp(word, kind_words[PM_LINE_MATERIAL]) == 0;
    }
    if (field == PM_FIELD_STANCE || field == PM_FIELD_REST) {
        enum pm_stance stance = PM_FREE;
        bool known = pm_stance_from_word(word, &stance);
        *out = stance;
        return known;
    }
    /* Ranges are those of a whole trial, verified on the result; only the core's type is narrow. */
    return pm_change_number(word, out) && (field != PM_FIELD_CORE || *out <= PM_CORE_MAX);
}
