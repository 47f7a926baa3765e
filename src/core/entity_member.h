/* SPDX-License-Identifier: MIT */
/*
 * Private: the member of a row that an attribute lies in. Each call is for the kinds it names.
 */
#ifndef PERMILLE_SRC_CORE_ENTITY_MEMBER_H
#define PERMILLE_SRC_CORE_ENTITY_MEMBER_H

#include "permille/core/entity.h"

/* Text, notes, CAS numbers: it lies in a const char *. */
bool pm_member_is_text(const struct pm_attribute *attribute);
const char *pm_member_text(const struct pm_attribute *attribute, const void *row);
void pm_member_put_text(const struct pm_attribute *attribute, void *row, const char *text);

/* Names; how many there are is returned. */
size_t pm_member_names(const struct pm_attribute *attribute, const void *row,
                       const char *const **names);
void pm_member_put_names(const struct pm_attribute *attribute, void *row, const char *const *names,
                         size_t count);

/* What lies in a number; pm_attribute_number() reads it. */
void pm_member_put_number(const struct pm_attribute *attribute, void *row, int64_t number);

/* Beside a reference: its name, or NULL; beside money: its currency. */
const char *pm_member_text_beside(const struct pm_attribute *attribute, const void *row);
const char *pm_member_currency(const struct pm_attribute *attribute, const void *row);
void pm_member_put_currency(const struct pm_attribute *attribute, void *row, const char *code);

#endif
