/* SPDX-License-Identifier: MIT */
/* Properties of materials: the table, reading and showing. */
#include "permille/core/fact.h"

#include "permille/base/word.h"

#include <string.h>

#define ONE INT64_C(1000000000) /* 10^PM_FACT_SCALE */

#define NUMBER(word_, label_, unit_, least_, most_, column_)                                       \
    {                                                                                              \
        .word = word_, .label = label_, .unit = unit_, .kind = PM_FACT_NUMBER, .least = least_,    \
        .most = most_, .column = column_                                                           \
    }
#define WORDS(word_, label_, column_)                                                              \
    {                                                                                              \
        .word = word_, .label = label_, .unit = "", .kind = PM_FACT_WORDS, .column = column_       \
    }

/* Ranges are wide: they catch a slip of the decimal sign, not a surprising substance. */
const struct pm_fact_property pm_fact_properties[] = {
    WORDS("descriptors", "odour", "odour_descriptors"),
    {.word = "volatility",
     .label = "volatility",
     .unit = "",
     .kind = PM_FACT_CHOICE,
     .choices = "top|heart|base",
     .column = "volatility"},
    {.word = "maximum",
     .label = "maximum in the concentrate",
     .unit = "%",
     .kind = PM_FACT_PERCENT,
     .least = 1,
     .most = ONE,
     .column = "usual_max_percent_in_concentrate"},
    NUMBER("rating", "rating", "", ONE, 5 * ONE, NULL),
    NUMBER("low", "low-stock level (neat)", "g", 0, 9000000 * ONE, NULL),
    WORDS("formula", "molecular formula", "molecular_formula"),
    NUMBER("molar_mass", "molar mass", "g/mol", ONE, 100000 * ONE, "molar_mass_g_mol"),
    NUMBER("density", "density at 20 °C", "g/ml", ONE / 10, 5 * ONE, "density_g_ml_20C"),
    NUMBER("density_measured_at", "density measured at", "°C", -50 * ONE, 200 * ONE,
           "density_temp_C"),
    NUMBER("melting_point", "melting point", "°C", -200 * ONE, 1000 * ONE, "melting_point_C"),
    NUMBER("boiling_point", "boiling point", "°C", -100 * ONE, 2000 * ONE, "boiling_point_C"),
    NUMBER("flash_point", "flash point", "°C", -100 * ONE, 1000 * ONE, "flash_point_C"),
    NUMBER("vapour_pressure", "vapour pressure at 25 °C", "Pa", 0, 10000000 * ONE,
           "vapour_pressure_Pa_25C"),
    NUMBER("vapour_pressure_least", "vapour pressure, low end", "Pa", 0, 10000000 * ONE,
           "vp_low_Pa"),
    NUMBER("vapour_pressure_most", "vapour pressure, high end", "Pa", 0, 10000000 * ONE,
           "vp_high_Pa"),
    WORDS("vapour_pressure_basis", "vapour pressure, how known", "vp_basis"),
    NUMBER("activity", "activity coefficient", "", ONE / 1000, 1000000 * ONE, NULL),
    NUMBER("transfer", "transfer coefficient, 1 is usual", "", ONE / 1000, 1000 * ONE, NULL),
    NUMBER("log_kow", "log Kow", "", -20 * ONE, 20 * ONE, "log_kow"),
    NUMBER("threshold", "odour threshold in air", "µg/m³", 0, 9000000000 * ONE,
           "odour_threshold_air_ug_m3"),
    NUMBER("threshold_least", "odour threshold, lowest published", "µg/m³", 0, 9000000000 * ONE,
           "threshold_low_ug_m3"),
    NUMBER("threshold_most", "odour threshold, highest published", "µg/m³", 0, 9000000000 * ONE,
           "threshold_high_ug_m3"),
};
const size_t pm_fact_property_count = sizeof pm_fact_properties / sizeof pm_fact_properties[0];

const char *pm_confidence_word(enum pm_confidence confidence)
{
    static const char *const words[] = {
        [PM_CHECKED] = "checked", [PM_FROM_MEMORY] = "memory", [PM_OWN_WORD] = "own"};
    return words[confidence];
}

const struct pm_fact_property *pm_fact_find(const char *word)
{
    for (size_t i = 0; i < pm_fact_property_count; i++)
        if (strcmp(pm_fact_properties[i].word, word) == 0)
            return &pm_fact_properties[i];
    return NULL;
}

/* Units may be repeated by the person: "0.84 g/ml". */
static bool cut_unit(const char *text, const char *unit, char *out, size_t size)
{
    size_t length = strlen(text), tail = strlen(unit);
    if (tail > 0 && length > tail && strcmp(text + length - tail, unit) == 0)
        length -= tail;
    while (length > 0 && text[length - 1] == ' ')
        length--;
    if (length == 0 || length >= size)
        return false;
    memcpy(out, text, length);
    out[length] = '\0';
    return true;
}

static enum pm_status read_number(const struct pm_fact_property *property, const char *text,
                                  int64_t *value, struct pm_error *err)
{
    char number[64];
    char least[PM_AMOUNT_TEXT], most[PM_AMOUNT_TEXT];
    int64_t read = 0;
    text += strspn(text, " ");
    bool negative = text[0] == '-' && property->least < 0;
    if (!cut_unit(text + negative, property->unit, number, sizeof number))
        return pm_fail(err, PM_INVALID, "\"%s\" is no number for the %s.", text, property->label);
    enum pm_status status = pm_decimal_read(number, PM_FACT_SCALE, property->label, &read, err);
    if (status != PM_OK)
        return status;
    read = negative ? -read : read;
    if (read < property->least || read > property->most) {
        return pm_fail(err, PM_INVALID, "The %s lies between %s and %s%s%s.", property->label,
                       pm_decimal_exact(property->least, PM_FACT_SCALE, '.', least),
                       pm_decimal_exact(property->most, PM_FACT_SCALE, '.', most),
                       property->unit[0] != '\0' ? " " : "", property->unit);
    }
    *value = read;
    return PM_OK;
}

enum pm_status pm_fact_read(const struct pm_fact_property *property, const char *text,
                            int64_t *value, struct pm_error *err)
{
    switch (property->kind) {
    case PM_FACT_PERCENT:
        return pm_strength_read(text, value, err);
    case PM_FACT_NUMBER:
        return read_number(property, text, value, err);
    case PM_FACT_CHOICE:
        if (!pm_word_among(property->choices, text))
            return pm_fail(err, PM_INVALID, "\"%s\" is not one of %s.", text, property->choices);
        break;
    case PM_FACT_WORDS:
        break;
    }
    *value = 0;
    return PM_OK;
}

void pm_fact_format(const struct pm_fact_property *property, int64_t value, char sign,
                    struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    if (property->kind == PM_FACT_PERCENT) {
        pm_text_addf(out, "%s %%", pm_decimal_exact(value, PM_FACT_SCALE - 2, sign, number));
        return;
    }
    pm_text_add(out, pm_decimal_exact(value, PM_FACT_SCALE, sign, number));
    if (property->unit[0] != '\0')
        pm_text_addf(out, " %s", property->unit);
}
