/* SPDX-License-Identifier: MIT */
/*
 * CRC-64/XZ: polynomial 0x42F0E1EBA9EA3693 of ECMA-182 (DLT-1 tape cartridges), reflected, as the
 * xz file format uses it; the check value of "123456789" is 0x995DC9BBDF1939FA. It finds every
 * burst of up to 64 bits, so every flipped bit and every damaged byte. It is no defence against a
 * person who means to deceive, and need not be one.
 */
#include "checksum.h"

#include <sqlite3.h>
#include <string.h>

#define POLYNOMIAL UINT64_C(0xC96C5795D7870F42) /* the lowest power in the highest digit */

/* What a byte adds when 0 to 7 bytes stand behind it: eight bytes are taken at once. */
static uint64_t tables[8][256];

static void fill_tables(void)
{
    for (int i = 0; i < 256; i++) {
        uint64_t crc = (uint64_t)i;
        for (int digit = 0; digit < 8; digit++)
            crc = (crc & 1) != 0 ? (crc >> 1) ^ POLYNOMIAL : crc >> 1;
        tables[0][i] = crc;
    }
    for (int k = 1; k < 8; k++)
        for (int i = 0; i < 256; i++)
            tables[k][i] = tables[0][tables[k - 1][i] & 0xFF] ^ (tables[k - 1][i] >> 8);
}

static uint64_t take_byte(uint64_t crc, unsigned char byte)
{
    return tables[0][(crc ^ byte) & 0xFF] ^ (crc >> 8);
}

/* Eight bytes, the first in the lowest place. */
static uint64_t take_eight(uint64_t crc, uint64_t bytes)
{
    crc ^= bytes;
    return tables[7][crc & 0xFF] ^ tables[6][crc >> 8 & 0xFF] ^ tables[5][crc >> 16 & 0xFF] ^
           tables[4][crc >> 24 & 0xFF] ^ tables[3][crc >> 32 & 0xFF] ^ tables[2][crc >> 40 & 0xFF] ^
           tables[1][crc >> 48 & 0xFF] ^ tables[0][crc >> 56];
}

static uint64_t eight_at(const unsigned char *bytes)
{
    uint64_t eight = 0;
    for (int i = 0; i < 8; i++)
        eight |= (uint64_t)bytes[i] << (8 * i);
    return eight;
}

uint64_t pm_crc_add(uint64_t crc, const void *data, size_t length)
{
    const unsigned char *bytes = data;
    if (tables[0][1] == 0)
        fill_tables();
    crc = ~crc;
    for (; length >= 8; length -= 8, bytes += 8)
        crc = take_eight(crc, eight_at(bytes));
    for (; length > 0; length--)
        crc = take_byte(crc, *bytes++);
    return ~crc;
}

/* Kinds of values; part of the file format. Place and kind stand before each value and a length
 * before text, so that bytes which moved from one column to the next are noticed. NULL adds
 * nothing: a column that a later migration adds, empty at first, leaves old checksums valid. */
enum { KIND_INTEGER = 1, KIND_REAL = 2, KIND_TEXT = 3, KIND_BLOB = 4 };

static uint64_t add_number(uint64_t crc, int place, int kind, uint64_t number)
{
    if (tables[0][1] == 0)
        fill_tables();
    crc = take_byte(take_byte(~crc, (unsigned char)place), (unsigned char)kind);
    return ~take_eight(crc, number);
}

static uint64_t add_integer(uint64_t crc, int place, int64_t value)
{
    return add_number(crc, place, KIND_INTEGER, (uint64_t)value);
}

static uint64_t add_real(uint64_t crc, int place, double value)
{
    uint64_t digits;
    memcpy(&digits, &value, sizeof digits);
    return add_number(crc, place, KIND_REAL, digits);
}

static uint64_t add_bytes(uint64_t crc, int place, int kind, const void *data, size_t length)
{
    return pm_crc_add(add_number(crc, place, kind, length), data, length);
}

uint64_t pm_crc_text(uint64_t crc, int place, const char *text)
{
    return text == NULL ? crc : add_bytes(crc, place, KIND_TEXT, text, strlen(text));
}

uint64_t pm_crc_value(uint64_t crc, int place, sqlite3_value *value)
{
    switch (sqlite3_value_type(value)) {
    case SQLITE_INTEGER:
        return add_integer(crc, place, sqlite3_value_int64(value));
    case SQLITE_FLOAT:
        return add_real(crc, place, sqlite3_value_double(value));
    case SQLITE_TEXT: {
        /* The pointer first: asking for it may convert and so change the length. */
        const unsigned char *text = sqlite3_value_text(value);
        return add_bytes(crc, place, KIND_TEXT, text, (size_t)sqlite3_value_bytes(value));
    }
    case SQLITE_BLOB: {
        const void *blob = sqlite3_value_blob(value);
        return add_bytes(crc, place, KIND_BLOB, blob, (size_t)sqlite3_value_bytes(value));
    }
    default:
        return crc;
    }
}

uint64_t pm_crc_found(uint64_t crc, int place, const struct pm_found_value *value)
{
    switch (value->kind) {
    case PM_FOUND_INTEGER:
        return add_integer(crc, place, value->number);
    case PM_FOUND_REAL:
        return add_real(crc, place, value->real);
    case PM_FOUND_TEXT:
        return add_bytes(crc, place, KIND_TEXT, value->data, value->length);
    case PM_FOUND_BLOB:
        return add_bytes(crc, place, KIND_BLOB, value->data, value->length);
    case PM_FOUND_NULL:
        break;
    }
    return crc;
}

/* pm_checksum('table', column, ...): the checksum of a row, for INSERT and UPDATE statements. */
static void checksum_function(sqlite3_context *context, int count, sqlite3_value **values)
{
    uint64_t crc = 0;
    for (int i = 0; i < count; i++)
        crc = pm_crc_value(crc, i, values[i]);
    sqlite3_result_int64(context, (sqlite3_int64)crc);
}

int pm_checksum_register(sqlite3 *db)
{
    return sqlite3_create_function_v2(db, "pm_checksum", -1,
                                      SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY, NULL,
                                      checksum_function, NULL, NULL, NULL);
}

uint64_t pm_crc_lines(const struct pm_trial *trial)
{
    uint64_t crc = 0;
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        crc = add_integer(crc, 1, line->id);
        crc = add_integer(crc, 2, (int64_t)line->kind);
        crc = add_integer(crc, 3, line->ref);
        crc = add_integer(crc, 4, line->strength);
        crc = add_integer(crc, 5, line->solvent);
        crc = add_integer(crc, 6, line->parts);
        crc = add_integer(crc, 7, (int64_t)line->stance);
        crc = add_integer(crc, 8, line->core);
        crc = add_integer(crc, 9, line->weight);
        crc = pm_crc_text(crc, 10, line->comment);
        if (!pm_weight_equal(line->share, pm_line_plain_share(line))) {
            crc = add_integer(crc, 11, line->share.digits);
            crc = add_integer(crc, 12, line->share.power);
        }
        if (line->rested != 0)
            crc = add_integer(crc, 13, line->rested);
        if (line->rested_as != PM_FREE)
            crc = add_integer(crc, 14, (int64_t)line->rested_as);
    }
    return crc;
}
