/* SPDX-License-Identifier: MIT */
/* What the state says, in a word. */
#include "shelf.h"

char *shelf_mass(const struct shelf *shelf, pm_mass mass, char *buf)
{
    return pm_mass_format(mass, mass == 0 ? 0 : 2, shelf->house->sign, buf);
}

char *shelf_strength(const struct shelf *shelf, pm_strength strength, char *buf)
{
    return pm_strength_about(strength, shelf->house->sign, buf);
}

bool shelf_typing(const struct shelf *shelf)
{
    return shelf->list.typing || shelf->bottles.typing;
}

void shelf_edit_stop(struct shelf *shelf)
{
    pm_table_stop(&shelf->list);
    pm_table_stop(&shelf->bottles);
}

size_t shelf_chosen_place(const struct shelf *shelf, int64_t bottle)
{
    size_t i = 0;
    while (i < shelf->chosen_count && shelf->chosen[i] != bottle)
        i++;
    return i;
}

bool shelf_is_chosen(const struct shelf *shelf, int64_t bottle)
{
    return shelf_chosen_place(shelf, bottle) < shelf->chosen_count;
}
