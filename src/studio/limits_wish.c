/* SPDX-License-Identifier: MIT */
/* What a formula is judged for: dosage, category, use, which end of ranges. Remembered by formula.
 */
#include "limits.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define USUAL_DOSAGE (PM_NEAT / 100 * 15) /* common practice, no source */
#define KEY_TEXT     48

/* ---- categories ---- */

static enum pm_status category_row(void *context, const struct pm_shipped *table,
                                   struct pm_error *err)
{
    struct pm_categories *list = context;
    struct pm_category_row *row = pm_list_add(list);
    if (row == NULL)
        return pm_fail_memory(err);
    *row = (struct pm_category_row){
        .id = pm_arena_text(&list->arena, pm_shipped_field(table, "category")),
        .description = pm_arena_text(&list->arena, pm_shipped_field(table, "description")),
        .note = pm_arena_text(&list->arena, pm_shipped_field(table, "note")),
        .source = pm_arena_text(&list->arena, pm_shipped_field(table, "source")),
    };
    if (!pm_contact_from_word(pm_shipped_field(table, "leave_on_rinse_off"), &row->contact))
        return pm_fail(err, PM_DAMAGED,
                       "The list of categories says not whether \"%s\" stays on "
                       "the skin.",
                       row->id != NULL ? row->id : "");
    return pm_arena_status(&list->arena, err);
}

enum pm_status pm_limits_categories(struct pm_studio *studio, struct pm_categories *out,
                                    struct pm_error *err)
{
    struct pm_categories list = {0};
    (void)studio;
    enum pm_status status = pm_shipped_each("categories.csv", category_row, &list, err);
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_limits_product(struct pm_studio *studio, const struct pm_limits_wish *wish,
                                 struct pm_product *out, struct pm_error *err)
{
    struct pm_categories categories = {0};
    enum pm_status status = pm_limits_categories(studio, &categories, err);
    *out = (struct pm_product){.category = wish->category, .use = wish->use};
    bool found = false;
    for (size_t i = 0; i < categories.count; i++)
        if (strcmp(categories.items[i].id, wish->category) == 0) {
            out->contact = categories.items[i].contact;
            found = true;
        }
    pm_list_release(&categories);
    if (status == PM_OK && !found)
        status = pm_fail_at(err, "category", PM_INVALID, "There is no product category \"%s\".",
                            wish->category);
    return status;
}

/* ---- reading ---- */

static enum pm_status read_category(struct pm_studio *studio, const char *text,
                                    struct pm_limits_wish *wish, struct pm_error *err)
{
    char wanted[PM_CATEGORY_TEXT];
    struct pm_product product;
    struct pm_limits_wish made = *wish;
    if (strlen(text) >= sizeof wanted)
        return pm_fail_at(err, "category", PM_INVALID, "There is no product category \"%s\".",
                          text);
    for (size_t i = 0; i <= strlen(text); i++)
        wanted[i] = (char)toupper((unsigned char)text[i]);
    memcpy(made.category, wanted, sizeof wanted);
    enum pm_status status = pm_limits_product(studio, &made, &product, err);
    if (status == PM_OK)
        *wish = made;
    return status;
}

enum pm_status pm_limits_read_wish(struct pm_studio *studio, const char *dosage,
                                   const char *category, const char *use, const char *basis,
                                   struct pm_limits_wish *wish, struct pm_error *err)
{
    struct pm_limits_wish made = *wish;
    enum pm_status status = PM_OK;
    if (dosage != NULL && dosage[0])
        status = pm_error_at(err, "dosage", pm_strength_read(dosage, &made.dosage, err));
    if (status == PM_OK && category != NULL && category[0])
        status = read_category(studio, category, &made, err);
    if (status == PM_OK && use != NULL && use[0] && !pm_use_from_word(use, &made.use))
        status = pm_fail_at(err, "use", PM_INVALID,
                            "It is sold as fine fragrance, eau de toilette or fragrance cream, "
                            "not as \"%s\".",
                            use);
    if (status == PM_OK && basis != NULL && basis[0] &&
        !pm_content_basis_from_word(basis, &made.basis))
        status = pm_fail_at(err, "basis", PM_INVALID,
                            "Of a range counts the most or the typical figure, not \"%s\".", basis);
    if (status == PM_OK)
        *wish = made;
    return status;
}

/* ---- remembering ---- */

static void key_of(int64_t formula, char key[KEY_TEXT])
{
    snprintf(key, KEY_TEXT, "limits.wish.%lld", (long long)formula);
}

/* "150000000|4|fine fragrance|most"; what cannot be read is as if it were not there. */
static void read_stored(char *text, struct pm_limits_wish *wish)
{
    struct pm_limits_wish made = *wish;
    char *rest = text;
    const char *dosage = strsep(&rest, "|"), *category = rest != NULL ? strsep(&rest, "|") : NULL;
    const char *use = rest != NULL ? strsep(&rest, "|") : NULL, *basis = rest;
    long long parsed = 0;
    if (dosage == NULL || category == NULL || use == NULL || basis == NULL ||
        sscanf(dosage, "%lld", &parsed) != 1)
        return;
    made.dosage = parsed;
    if (parsed < 1 || parsed > PM_NEAT || strlen(category) >= sizeof made.category ||
        !pm_use_from_word(use, &made.use) || !pm_content_basis_from_word(basis, &made.basis))
        return;
    snprintf(made.category, sizeof made.category, "%s", category);
    *wish = made;
}

enum pm_status pm_limits_wish(struct pm_studio *studio, int64_t formula, struct pm_limits_wish *out,
                              struct pm_error *err)
{
    char key[KEY_TEXT], *text = NULL;
    *out = (struct pm_limits_wish){
        .dosage = USUAL_DOSAGE, .category = "4", .use = PM_FINE_FRAGRANCE, .basis = PM_BY_MOST};
    key_of(formula, key);
    enum pm_status status = pm_setting_get(studio->library, key, &text, err);
    if (status == PM_OK && text != NULL)
        read_stored(text, out);
    pm_free(text);
    return status;
}

enum pm_status pm_limits_set_wish(struct pm_studio *studio, int64_t formula,
                                  const struct pm_limits_wish *wish, struct pm_error *err)
{
    char key[KEY_TEXT], text[96];
    struct pm_product product;
    enum pm_status status = pm_limits_product(studio, wish, &product, err);
    if (status == PM_OK && (wish->dosage < 1 || wish->dosage > PM_NEAT))
        status = pm_fail_at(err, "dosage", PM_INVALID, "A dosage lies between 0 and 100 %%.");
    if (status != PM_OK)
        return status;
    key_of(formula, key);
    snprintf(text, sizeof text, "%lld|%s|%s|%s", (long long)wish->dosage, wish->category,
             pm_use_word(wish->use), pm_content_basis_word(wish->basis));
    status = pm_change_begin(studio, err);
    return status == PM_OK
               ? pm_change_end(studio, pm_setting_put(studio->library, key, text, err), err)
               : status;
}
