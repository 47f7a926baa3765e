/* SPDX-License-Identifier: MIT */
/* Materials: their kinds and their description. */
#include "permille/core/material.h"

#include "permille/base/utf8.h"
#include "permille/base/word.h"

#define KINDS "chemical|natural|solvent|blend"

static const char *const kinds[] = {
    [PM_CHEMICAL] = "chemical",
    [PM_NATURAL] = "natural",
    [PM_SOLVENT] = "solvent",
    [PM_BLEND] = "blend",
};

const char *pm_material_kind_word(enum pm_material_kind kind)
{
    return kinds[kind];
}

bool pm_material_kind_from_word(const char *word, enum pm_material_kind *out)
{
    const int place = pm_word_place(kinds, sizeof kinds / sizeof kinds[0], word);
    if (place >= 0)
        *out = (enum pm_material_kind)place;
    return place >= 0;
}

void pm_material_release(struct pm_material *material)
{
    pm_arena_release(&material->arena);
    *material = (struct pm_material){.id = 0};
}

bool pm_material_has_name(const struct pm_material *material, const char *name)
{
    bool has = material->name != NULL && pm_fold_equal(material->name, name);
    for (size_t i = 0; i < material->synonym_count && !has; i++)
        has = pm_fold_equal(material->synonyms[i], name);
    return has;
}

#define AT(member) .offset = offsetof(struct pm_material, member)

static const struct pm_attribute attributes[PM_MATERIAL_ATTRIBUTES] = {
    [PM_MATERIAL_NAME] = {.key = "name",
                          .json = "material",
                          .title = "Name",
                          .called = "material's name",
                          .help = "another name",
                          .kind = PM_ATTRIBUTE_TEXT,
                          .required = true,
                          AT(name)},
    [PM_MATERIAL_KIND] = {.key = "kind",
                          .title = "Kind",
                          .help = "what it is; chemical unless another is said",
                          .kind = PM_ATTRIBUTE_CHOICE,
                          .choices = KINDS,
                          AT(kind)},
    [PM_MATERIAL_CAS] = {.key = "cas",
                         .title = "CAS number",
                         .brief = "CAS",
                         .hint = "May stay empty. The check digit is verified.",
                         .help = "its CAS number; the check digit is verified",
                         .kind = PM_ATTRIBUTE_CAS,
                         AT(cas)},
    [PM_MATERIAL_FAMILY] = {.key = "family",
                            .title = "Family",
                            .called = "odour family",
                            .hint = "Your own word for how it smells: green, woody.",
                            .help = "what it smells of, in a word",
                            .kind = PM_ATTRIBUTE_TEXT,
                            AT(family)},
    [PM_MATERIAL_SYNONYMS] = {.key = "synonyms",
                              .option = "synonym",
                              .title = "Other names",
                              .called = "synonyms",
                              .brief = "also",
                              .hint = "Several are separated by semicolons.",
                              .help = "another name it is found by; replaces all that were there",
                              .kind = PM_ATTRIBUTE_NAMES,
                              AT(synonyms),
                              .beside = offsetof(struct pm_material, synonym_count)},
    [PM_MATERIAL_NOTE] = {.key = "note",
                          .title = "Note",
                          .help = "anything worth knowing",
                          .kind = PM_ATTRIBUTE_NOTE,
                          .limit = 65536,
                          AT(note)},
};
const struct pm_entity pm_material_entity = {"material", attributes, PM_MATERIAL_ATTRIBUTES};
