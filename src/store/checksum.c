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

static const uint64_t table[256] = {
    0x0000000000000000U, 0xb32e4cbe03a75f6fU, 0xf4843657a840a05bU, 0x47aa7ae9abe7ff34U,
    0x7bd0c384ff8f5e33U, 0xc8fe8f3afc28015cU, 0x8f54f5d357cffe68U, 0x3c7ab96d5468a107U,
    0xf7a18709ff1ebc66U, 0x448fcbb7fcb9e309U, 0x0325b15e575e1c3dU, 0xb00bfde054f94352U,
    0x8c71448d0091e255U, 0x3f5f08330336bd3aU, 0x78f572daa8d1420eU, 0xcbdb3e64ab761d61U,
    0x7d9ba13851336649U, 0xceb5ed8652943926U, 0x891f976ff973c612U, 0x3a31dbd1fad4997dU,
    0x064b62bcaebc387aU, 0xb5652e02ad1b6715U, 0xf2cf54eb06fc9821U, 0x41e11855055bc74eU,
    0x8a3a2631ae2dda2fU, 0x39146a8fad8a8540U, 0x7ebe1066066d7a74U, 0xcd905cd805ca251bU,
    0xf1eae5b551a2841cU, 0x42c4a90b5205db73U, 0x056ed3e2f9e22447U, 0xb6409f5cfa457b28U,
    0xfb374270a266cc92U, 0x48190ecea1c193fdU, 0x0fb374270a266cc9U, 0xbc9d3899098133a6U,
    0x80e781f45de992a1U, 0x33c9cd4a5e4ecdceU, 0x7463b7a3f5a932faU, 0xc74dfb1df60e6d95U,
    0x0c96c5795d7870f4U, 0xbfb889c75edf2f9bU, 0xf812f32ef538d0afU, 0x4b3cbf90f69f8fc0U,
    0x774606fda2f72ec7U, 0xc4684a43a15071a8U, 0x83c230aa0ab78e9cU, 0x30ec7c140910d1f3U,
    0x86ace348f355aadbU, 0x3582aff6f0f2f5b4U, 0x7228d51f5b150a80U, 0xc10699a158b255efU,
    0xfd7c20cc0cdaf4e8U, 0x4e526c720f7dab87U, 0x09f8169ba49a54b3U, 0xbad65a25a73d0bdcU,
    0x710d64410c4b16bdU, 0xc22328ff0fec49d2U, 0x85895216a40bb6e6U, 0x36a71ea8a7ace989U,
    0x0adda7c5f3c4488eU, 0xb9f3eb7bf06317e1U, 0xfe5991925b84e8d5U, 0x4d77dd2c5823b7baU,
    0x64b62bcaebc387a1U, 0xd7986774e864d8ceU, 0x90321d9d438327faU, 0x231c512340247895U,
    0x1f66e84e144cd992U, 0xac48a4f017eb86fdU, 0xebe2de19bc0c79c9U, 0x58cc92a7bfab26a6U,
    0x9317acc314dd3bc7U, 0x2039e07d177a64a8U, 0x67939a94bc9d9b9cU, 0xd4bdd62abf3ac4f3U,
    0xe8c76f47eb5265f4U, 0x5be923f9e8f53a9bU, 0x1c4359104312c5afU, 0xaf6d15ae40b59ac0U,
    0x192d8af2baf0e1e8U, 0xaa03c64cb957be87U, 0xeda9bca512b041b3U, 0x5e87f01b11171edcU,
    0x62fd4976457fbfdbU, 0xd1d305c846d8e0b4U, 0x96797f21ed3f1f80U, 0x2557339fee9840efU,
    0xee8c0dfb45ee5d8eU, 0x5da24145464902e1U, 0x1a083bacedaefdd5U, 0xa9267712ee09a2baU,
    0x955cce7fba6103bdU, 0x267282c1b9c65cd2U, 0x61d8f8281221a3e6U, 0xd2f6b4961186fc89U,
    0x9f8169ba49a54b33U, 0x2caf25044a02145cU, 0x6b055fede1e5eb68U, 0xd82b1353e242b407U,
    0xe451aa3eb62a1500U, 0x577fe680b58d4a6fU, 0x10d59c691e6ab55bU, 0xa3fbd0d71dcdea34U,
    0x6820eeb3b6bbf755U, 0xdb0ea20db51ca83aU, 0x9ca4d8e41efb570eU, 0x2f8a945a1d5c0861U,
    0x13f02d374934a966U, 0xa0de61894a93f609U, 0xe7741b60e174093dU, 0x545a57dee2d35652U,
    0xe21ac88218962d7aU, 0x5134843c1b317215U, 0x169efed5b0d68d21U, 0xa5b0b26bb371d24eU,
    0x99ca0b06e7197349U, 0x2ae447b8e4be2c26U, 0x6d4e3d514f59d312U, 0xde6071ef4cfe8c7dU,
    0x15bb4f8be788911cU, 0xa6950335e42fce73U, 0xe13f79dc4fc83147U, 0x521135624c6f6e28U,
    0x6e6b8c0f1807cf2fU, 0xdd45c0b11ba09040U, 0x9aefba58b0476f74U, 0x29c1f6e6b3e0301bU,
    0xc96c5795d7870f42U, 0x7a421b2bd420502dU, 0x3de861c27fc7af19U, 0x8ec62d7c7c60f076U,
    0xb2bc941128085171U, 0x0192d8af2baf0e1eU, 0x4638a2468048f12aU, 0xf516eef883efae45U,
    0x3ecdd09c2899b324U, 0x8de39c222b3eec4bU, 0xca49e6cb80d9137fU, 0x7967aa75837e4c10U,
    0x451d1318d716ed17U, 0xf6335fa6d4b1b278U, 0xb199254f7f564d4cU, 0x02b769f17cf11223U,
    0xb4f7f6ad86b4690bU, 0x07d9ba1385133664U, 0x4073c0fa2ef4c950U, 0xf35d8c442d53963fU,
    0xcf273529793b3738U, 0x7c0979977a9c6857U, 0x3ba3037ed17b9763U, 0x888d4fc0d2dcc80cU,
    0x435671a479aad56dU, 0xf0783d1a7a0d8a02U, 0xb7d247f3d1ea7536U, 0x04fc0b4dd24d2a59U,
    0x3886b22086258b5eU, 0x8ba8fe9e8582d431U, 0xcc0284772e652b05U, 0x7f2cc8c92dc2746aU,
    0x325b15e575e1c3d0U, 0x8175595b76469cbfU, 0xc6df23b2dda1638bU, 0x75f16f0cde063ce4U,
    0x498bd6618a6e9de3U, 0xfaa59adf89c9c28cU, 0xbd0fe036222e3db8U, 0x0e21ac88218962d7U,
    0xc5fa92ec8aff7fb6U, 0x76d4de52895820d9U, 0x317ea4bb22bfdfedU, 0x8250e80521188082U,
    0xbe2a516875702185U, 0x0d041dd676d77eeaU, 0x4aae673fdd3081deU, 0xf9802b81de97deb1U,
    0x4fc0b4dd24d2a599U, 0xfceef8632775faf6U, 0xbb44828a8c9205c2U, 0x086ace348f355aadU,
    0x34107759db5dfbaaU, 0x873e3be7d8faa4c5U, 0xc094410e731d5bf1U, 0x73ba0db070ba049eU,
    0xb86133d4dbcc19ffU, 0x0b4f7f6ad86b4690U, 0x4ce50583738cb9a4U, 0xffcb493d702be6cbU,
    0xc3b1f050244347ccU, 0x709fbcee27e418a3U, 0x3735c6078c03e797U, 0x841b8ab98fa4b8f8U,
    0xadda7c5f3c4488e3U, 0x1ef430e13fe3d78cU, 0x595e4a08940428b8U, 0xea7006b697a377d7U,
    0xd60abfdbc3cbd6d0U, 0x6524f365c06c89bfU, 0x228e898c6b8b768bU, 0x91a0c532682c29e4U,
    0x5a7bfb56c35a3485U, 0xe955b7e8c0fd6beaU, 0xaeffcd016b1a94deU, 0x1dd181bf68bdcbb1U,
    0x21ab38d23cd56ab6U, 0x9285746c3f7235d9U, 0xd52f0e859495caedU, 0x6601423b97329582U,
    0xd041dd676d77eeaaU, 0x636f91d96ed0b1c5U, 0x24c5eb30c5374ef1U, 0x97eba78ec690119eU,
    0xab911ee392f8b099U, 0x18bf525d915feff6U, 0x5f1528b43ab810c2U, 0xec3b640a391f4fadU,
    0x27e05a6e926952ccU, 0x94ce16d091ce0da3U, 0xd3646c393a29f297U, 0x604a2087398eadf8U,
    0x5c3099ea6de60cffU, 0xef1ed5546e415390U, 0xa8b4afbdc5a6aca4U, 0x1b9ae303c601f3cbU,
    0x56ed3e2f9e224471U, 0xe5c372919d851b1eU, 0xa26908783662e42aU, 0x114744c635c5bb45U,
    0x2d3dfdab61ad1a42U, 0x9e13b115620a452dU, 0xd9b9cbfcc9edba19U, 0x6a978742ca4ae576U,
    0xa14cb926613cf817U, 0x1262f598629ba778U, 0x55c88f71c97c584cU, 0xe6e6c3cfcadb0723U,
    0xda9c7aa29eb3a624U, 0x69b2361c9d14f94bU, 0x2e184cf536f3067fU, 0x9d36004b35545910U,
    0x2b769f17cf112238U, 0x9858d3a9ccb67d57U, 0xdff2a94067518263U, 0x6cdce5fe64f6dd0cU,
    0x50a65c93309e7c0bU, 0xe388102d33392364U, 0xa4226ac498dedc50U, 0x170c267a9b79833fU,
    0xdcd7181e300f9e5eU, 0x6ff954a033a8c131U, 0x28532e49984f3e05U, 0x9b7d62f79be8616aU,
    0xa707db9acf80c06dU, 0x14299724cc279f02U, 0x5383edcd67c06036U, 0xe0ada17364673f59U,
};

uint64_t pm_crc_add(uint64_t crc, const void *data, size_t length)
{
    const unsigned char *bytes = data;
    crc = ~crc;
    for (size_t i = 0; i < length; i++)
        crc = table[(crc ^ bytes[i]) & 0xFF] ^ (crc >> 8);
    return ~crc;
}

static uint64_t add_number(uint64_t crc, uint64_t number)
{
    unsigned char bytes[8];
    for (int i = 0; i < 8; i++)
        bytes[i] = (unsigned char)(number >> (8 * i));
    return pm_crc_add(crc, bytes, sizeof bytes);
}

/* Kinds of values; part of the file format. Place and kind stand before each value and a length
 * before text, so that bytes which moved from one column to the next are noticed. NULL adds
 * nothing: a column that a later migration adds, empty at first, leaves old checksums valid. */
enum { KIND_INTEGER = 1, KIND_REAL = 2, KIND_TEXT = 3, KIND_BLOB = 4 };

static uint64_t add_head(uint64_t crc, int place, int kind)
{
    unsigned char head[2] = {(unsigned char)place, (unsigned char)kind};
    return pm_crc_add(crc, head, sizeof head);
}

static uint64_t add_integer(uint64_t crc, int place, int64_t value)
{
    return add_number(add_head(crc, place, KIND_INTEGER), (uint64_t)value);
}

static uint64_t add_bytes(uint64_t crc, int place, int kind, const void *data, size_t length)
{
    crc = add_number(add_head(crc, place, kind), (uint64_t)length);
    return pm_crc_add(crc, data, length);
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
    case SQLITE_FLOAT: {
        double real = sqlite3_value_double(value);
        uint64_t bits;
        memcpy(&bits, &real, sizeof bits);
        return add_number(add_head(crc, place, KIND_REAL), bits);
    }
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
    uint64_t bits;
    switch (value->kind) {
    case PM_FOUND_INTEGER:
        return add_integer(crc, place, value->number);
    case PM_FOUND_REAL:
        memcpy(&bits, &value->real, sizeof bits);
        return add_number(add_head(crc, place, KIND_REAL), bits);
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
