/* SPDX-License-Identifier: MIT */
/*
 * How the folded names of materials lie in table material_search: PM_BLOCK materials to a row.
 *
 * A block is a run of entries, one per material, in order of id:
 *
 *     three bytes of head, TAB, folded name, TAB, folded synonym..., TAB, CAS number, LF
 *
 * The head bytes are 0xF8 + slot / 8, 0xF8 + slot % 8 (slot: id % 32) and 0xF8, or 0xF9 when set
 * aside. No byte of UTF-8 is 0xF8 or more, so no text can be found in a head. The CAS number's
 * field is there, perhaps empty, in every entry. Merged materials have none.
 */
#ifndef PERMILLE_STORE_SEARCH_BLOCKS_H
#define PERMILLE_STORE_SEARCH_BLOCKS_H

enum { PM_BLOCK = 32, PM_HEAD = 4, PM_HEAD_BYTE = 0xF8 };

#endif
