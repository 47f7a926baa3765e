/* SPDX-License-Identifier: MIT */
/* The demo's tables of shelf, bottles and movements hold together: names, numbers and dates can be
 * read, bottles are on the shelf, and no bottle ever gives more than it holds. */
#include "permille/base/amount.h"
#include "permille/base/clock.h"
#include "permille/base/csv.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define ROWS_MAX   400
#define FIELDS_MAX 20

struct table {
    char *content;
    size_t rows;
    char *cells[ROWS_MAX][FIELDS_MAX]; /* row 0 is the header */
};

static void table_read(struct table *table, const char *path)
{
    struct pm_csv csv;
    bool more;

    *table = (struct table){0};
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    const size_t length = (size_t)ftell(file);
    rewind(file);
    table->content = calloc(length + 1, 1);
    assert_non_null(table->content);
    assert_int_equal(fread(table->content, 1, length, file), length);
    fclose(file);
    /* Every table says first that it is invented; the starter set is none of the demo's. */
    const char *start = table->content;
    if (strstr(path, "demo-db/") != NULL) {
        assert_int_equal(strncmp(start, "# Invented scenario", 19), 0);
        start = strchr(start, '\n');
        assert_non_null(start);
    }
    pm_csv_init(&csv, start, strlen(start));
    for (;; table->rows++) {
        assert_int_equal(pm_csv_next(&csv, &more, NULL), PM_OK);
        if (!more)
            break;
        assert_true(table->rows < ROWS_MAX);
        for (size_t i = 0; i < csv.count && i < FIELDS_MAX; i++)
            table->cells[table->rows][i] = strdup(csv.fields[i]);
        if (table->rows > 0) /* as many fields as the header */
            assert_true(csv.count >= FIELDS_MAX || table->cells[0][csv.count] == NULL);
        assert_non_null(table->cells[table->rows][0]);
    }
    pm_csv_release(&csv);
}

static void table_release(struct table *table)
{
    for (size_t r = 0; r < table->rows; r++)
        for (size_t i = 0; i < FIELDS_MAX; i++)
            free(table->cells[r][i]);
    free(table->content);
}

static const char *cell(const struct table *table, size_t row, const char *column)
{
    for (size_t i = 0; i < FIELDS_MAX && table->cells[0][i] != NULL; i++)
        if (strcmp(table->cells[0][i], column) == 0)
            return table->cells[row][i];
    fail_msg("no column %s", column);
    return NULL;
}

/* The row whose first cell is `name`, 0 when there is none. */
static size_t row_of(const struct table *table, const char *name)
{
    for (size_t r = 1; r < table->rows; r++)
        if (strcmp(table->cells[r][0], name) == 0)
            return r;
    return 0;
}

struct tables {
    struct table materials, shelf, bottles, movements;
};

static int set_up(void **state)
{
    struct tables *tables = calloc(1, sizeof *tables);
    assert_non_null(tables);
    table_read(&tables->materials, "schema/reference/materials.csv");
    table_read(&tables->shelf, "demo-db/shelf.csv");
    table_read(&tables->bottles, "demo-db/bottles.csv");
    table_read(&tables->movements, "demo-db/movements.csv");
    *state = tables;
    return 0;
}

static int tear_down(void **state)
{
    struct tables *tables = *state;
    table_release(&tables->materials);
    table_release(&tables->shelf);
    table_release(&tables->bottles);
    table_release(&tables->movements);
    free(tables);
    return 0;
}

static void shelf_is_of_the_starter_set(void **state)
{
    const struct tables *tables = *state;
    const struct table *shelf = &tables->shelf;

    assert_int_equal(shelf->rows - 1, 122);
    for (size_t r = 1; r < shelf->rows; r++) {
        const char *name = cell(shelf, r, "name");
        const int rating = atoi(cell(shelf, r, "rating"));
        if (row_of(&tables->materials, name) == 0)
            fail_msg("%s is not in the starter set", name);
        assert_int_equal(row_of(shelf, name), r);
        assert_in_range(rating, 1, 5);
        assert_string_not_equal(cell(shelf, r, "family"), "");
    }
}

static pm_strength strength_of(const struct table *bottles, size_t row)
{
    pm_strength strength;
    assert_int_equal(pm_strength_read(cell(bottles, row, "strength"), &strength, NULL), PM_OK);
    return strength;
}

static void bottles_can_be_read(void **state)
{
    const struct tables *tables = *state;
    const struct table *bottles = &tables->bottles, *materials = &tables->materials;
    int64_t bought, best_before, value;

    assert_int_equal(bottles->rows - 1, 160);
    for (size_t r = 1; r < bottles->rows; r++) {
        const char *solvent = cell(bottles, r, "solvent"), *price = cell(bottles, r, "price");
        const char *from = cell(bottles, r, "made_from");
        assert_int_equal(row_of(bottles, cell(bottles, r, "bottle")), r);
        assert_int_not_equal(row_of(&tables->shelf, cell(bottles, r, "material")), 0);
        assert_int_equal(strength_of(bottles, r) == PM_NEAT, solvent[0] == '\0');
        if (solvent[0] != '\0')
            assert_string_equal(cell(materials, row_of(materials, solvent), "kind"), "solvent");
        assert_int_equal(pm_time_read(cell(bottles, r, "bought"), &bought, NULL), PM_OK);
        assert_int_equal(pm_time_read(cell(bottles, r, "best_before"), &best_before, NULL), PM_OK);
        assert_true(bought < best_before);
        assert_int_equal(price[0] == '\0', cell(bottles, r, "currency")[0] == '\0');
        if (price[0] != '\0')
            assert_int_equal(pm_decimal_read(price, 6, "A price", &value, NULL), PM_OK);
        if (from[0] != '\0')
            assert_string_equal(cell(bottles, row_of(bottles, from), "material"),
                                cell(bottles, r, "material"));
    }
}

/* What the movements did to one bottle, in grams. */
struct content {
    double left;
    double put_in; /* by others */
    double active; /* of that: the bottle's own material, neat */
};

static void move(const struct tables *tables, size_t row, struct content *contents)
{
    const struct table *bottles = &tables->bottles, *movements = &tables->movements;
    const char *kind = cell(movements, row, "kind");
    const size_t bottle = row_of(bottles, cell(movements, row, "bottle"));
    const size_t into = row_of(bottles, cell(movements, row, "into"));
    pm_mass mass;

    assert_int_not_equal(bottle, 0);
    assert_true(strncmp(cell(movements, row, "at"), cell(bottles, bottle, "bought"), 10) >= 0);
    assert_int_equal(pm_mass_read(cell(movements, row, "mass_g"), &mass, NULL), PM_OK);
    assert_int_equal(strcmp(kind, "moved") == 0, into != 0);
    const double grams = (double)mass / (double)PM_GRAM;
    contents[bottle].left = strcmp(kind, "counted") == 0 ? grams : contents[bottle].left - grams;
    if (contents[bottle].left < -1e-9)
        fail_msg("movement %zu takes more than %s holds", row, cell(bottles, bottle, "bottle"));
    if (into == 0)
        return;
    contents[into].left += grams;
    contents[into].put_in += grams;
    if (strcmp(cell(bottles, bottle, "material"), cell(bottles, into, "material")) == 0)
        contents[into].active += grams * (double)strength_of(bottles, bottle) / (double)PM_NEAT;
}

/* No bottle gives more than it holds, and one made here is as strong as what went into it, to the
 * four digits it is written with. */
static void ledger_holds(void **state)
{
    const struct tables *tables = *state;
    const struct table *bottles = &tables->bottles, *movements = &tables->movements;
    size_t over_pours = 0, empty = 0;

    struct content *contents = calloc(bottles->rows, sizeof *contents);
    assert_non_null(contents);
    for (size_t r = 1; r < bottles->rows; r++)
        contents[r].left = strtod(cell(bottles, r, "received_g"), NULL);
    for (size_t r = 1; r < movements->rows; r++) {
        if (r > 1)
            assert_true(strcmp(cell(movements, r - 1, "at"), cell(movements, r, "at")) <= 0);
        move(tables, r, contents);
        over_pours += strstr(cell(movements, r, "note"), "over-pour") != NULL ? 1 : 0;
    }
    for (size_t r = 1; r < bottles->rows; r++) {
        empty += contents[r].left < 1e-9 ? 1 : 0;
        if (cell(bottles, r, "made_from")[0] == '\0')
            continue;
        const double says = (double)strength_of(bottles, r) / (double)PM_NEAT;
        const double is = contents[r].active / contents[r].put_in;
        assert_true(says > is * 0.999 && says < is * 1.001);
    }
    assert_int_equal(over_pours, 1);
    assert_true(empty >= 3);
    free(contents);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shelf_is_of_the_starter_set),
        cmocka_unit_test(bottles_can_be_read),
        cmocka_unit_test(ledger_holds),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
