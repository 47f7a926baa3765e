/* SPDX-License-Identifier: MIT */
/* What the files of the scale share; inside the studio. */
#ifndef PERMILLE_STUDIO_SCALE_INSIDE_H
#define PERMILLE_STUDIO_SCALE_INSIDE_H

#include "bottle.h"

#include "permille/base/map.h"
#include "permille/store/weighed.h"
#include "permille/studio/scale.h"

/* The balance and tolerance that are meant; *name lies in the arena, or is NULL. */
struct pm_weigh_means {
    struct pm_balance balance;
    const char *balance_name;
    pm_strength tolerance;
    enum pm_weigh_order order;
};
enum pm_status pm_weigh_means(struct pm_studio *studio, const struct pm_weigh_how *how,
                              struct pm_arena *arena, struct pm_weigh_means *out,
                              struct pm_error *err);

/* A name kept by the arena; material 0: NULL. */
enum pm_status pm_scale_name(struct pm_studio *studio, struct pm_arena *arena, int64_t material,
                             const char **out, struct pm_error *err);
/* names[] large where they are like another, into tall[], kept by the arena. */
enum pm_status pm_scale_tall(const char *const *names, size_t count, const char **tall,
                             struct pm_arena *arena, struct pm_error *err);
/* Label, lot, place and what is left of a bottle; 0: NULLs. */
enum pm_status pm_scale_bottle(struct pm_studio *studio, struct pm_arena *arena, int64_t bottle,
                               const char **label, const char **lot, const char **store,
                               pm_mass *left, struct pm_error *err);

/* ---- accords that stand made up (weigh_made_up.c) ---- */

/* Which accord lines of a trial, and of the accords in it at any depth, are poured from bottles of
 * that very trial when so much of it is made. Free with pm_made_up_free. */
struct pm_made_up;
enum pm_status pm_made_up_resolve(struct pm_studio *studio, const struct pm_trial *trial,
                                  pm_mass mass, struct pm_made_up **out, struct pm_error *err);
void pm_made_up_free(struct pm_made_up *up); /* NULL allowed */
/* The trial and the accords in it, with such lines as lines of the bottles' material. */
const struct pm_trial *pm_made_up_trial(const struct pm_made_up *up);
struct pm_trial_source pm_made_up_source(struct pm_made_up *up);

/* ---- the accords that what is weighed comes from (weigh_accords.c) ---- */

/* An accord that a trial holds. */
struct pm_held_accord {
    int64_t trial, material; /* material: of its bottles; 0: it never stood made up */
    bool poured;             /* from such a bottle: what is in it is not weighed by itself */
};
struct pm_held_accords {
    struct pm_held_accord *items; /* owned; those of the trial first, then those in them */
    size_t count, capacity;
    struct pm_map known; /* trial to place in items */
};
/* `poured`: the materials that are poured neat. On failure *out is released. */
enum pm_status pm_held_read(struct pm_studio *studio, const struct pm_trial *trial,
                            const int64_t *poured, size_t count, struct pm_held_accords *out,
                            struct pm_error *err);
void pm_held_release(struct pm_held_accords *held);
/* The trial that such a material is made up of; 0: none of them. */
int64_t pm_held_made_up(const struct pm_held_accords *held, int64_t material, pm_strength strength);
/* Where a weight comes from, the titles kept by the arena. */
enum pm_status pm_held_whence(struct pm_studio *studio, const struct pm_held_accords *held,
                              int64_t material, pm_strength strength, struct pm_arena *arena,
                              struct pm_weigh_whence *out, struct pm_error *err);

/* ---- batches (batch_record.c) ---- */

#define PM_BATCH_NOTE_BYTES 65536

/* Puts an event into the batch's record. */
enum pm_status pm_batch_happen(struct pm_studio *studio, int64_t batch, enum pm_batch_state kind,
                               const char *text, struct pm_error *err);
/* Formula, number and title of the batch's trial, the title kept by the arena. */
enum pm_status pm_batch_title(struct pm_studio *studio, struct pm_batch *batch,
                              struct pm_arena *arena, struct pm_error *err);
/* A record into *out, which is empty before (pm_batch_record_release in every case). */
enum pm_status pm_batch_record_read(struct pm_studio *studio, int64_t id,
                                    struct pm_batch_record *out, struct pm_error *err);
/* The same of a batch into which can be poured; PM_REFUSED otherwise. */
enum pm_status pm_batch_record_open(struct pm_studio *studio, int64_t id,
                                    struct pm_batch_record *out, struct pm_error *err);
/* What lies there of a line in the end when `target` is meant of it: what was poured, when that is
 * more, or as good as all that was meant already. */
pm_mass pm_batch_line_ends(const struct pm_batch_record_line *line, pm_mass target);

/* What all bottles hold that a line can be poured from (batch_pouring.c). */
enum pm_status pm_batch_there(struct pm_studio *studio, const struct pm_batch_record_line *line,
                              pm_mass *out, struct pm_error *err);
/* The accords in the batch's trial, by what is poured. Release with pm_held_release. */
enum pm_status pm_batch_held(struct pm_studio *studio, const struct pm_batch_record *record,
                             struct pm_held_accords *out, struct pm_error *err);

/* ---- what was weighed as a trial (batch_content.c) ---- */

/* The lines with so much of each, masses[record->count], in the trial's base; release with
 * pm_trial_release. On failure *out is released. */
enum pm_status pm_batch_content(struct pm_studio *studio, const struct pm_batch_record *record,
                                const pm_mass *masses, struct pm_trial *out, struct pm_error *err);

#endif
