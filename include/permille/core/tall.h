/* SPDX-License-Identifier: MIT */
/*
 * Tall letters: names that look alike are told apart by writing large what differs ("linaLOOL"
 * beside "linaLYL acetate"), as is common practice on medicine labels (no source).
 */
#ifndef PERMILLE_CORE_TALL_H
#define PERMILLE_CORE_TALL_H

#include "permille/base/text.h"

#include <stddef.h>

/*
 * Appends names[at], large where it differs from the one among the others that it is mistaken for
 * most easily; as it is when there is none. Alike are two names that begin with the same four
 * letters or more and part within a word, or that share three fifths of the longer one at their
 * beginning and end (our own choice). The same name twice is no matter. Case does not count.
 */
void pm_tall_name(const char *const *names, size_t count, size_t at, struct pm_text *out);

#endif
