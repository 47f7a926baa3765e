/* SPDX-License-Identifier: MIT */
/*
 * Drydown of a trial: its flattened materials joined to what is known of their volatility.
 *
 * Naturals count through their constituents where those are materials of the library with a vapour
 * pressure; what is left of them, and every material without a figure, is listed as not modelled
 * with its share and is in no curve. Predicted vapour pressures, assumed molar masses and the
 * person's own coefficients are told apart. See core/drydown.h for what may be claimed.
 */
#ifndef PERMILLE_STUDIO_DRYDOWN_H
#define PERMILLE_STUDIO_DRYDOWN_H

#include "permille/base/amount.h"
#include "permille/base/arena.h"
#include "permille/base/text.h"
#include "permille/core/drydown.h"
#include "permille/core/plot.h"
#include "permille/studio/bench.h"
#include "permille/studio/studio.h"

struct pm_dry_options {
    bool without_alcohol; /* leaves ethanol (CAS 64-17-5) out */
    double assume;        /* molar mass in g/mol for those that have none; 0: they are left out */
};

struct pm_dry_material {
    int64_t material;
    const char *name;
    const char *through; /* naturals that bring some of it, "Bergamot oil, Petitgrain"; or NULL */
    double percent;      /* of the formula's mass */
    double molar_mass;   /* g/mol */
    bool assumed;        /* the molar mass is */
    double pressure, low, high; /* Pa at 25 °C, without coefficients */
    const char *basis;          /* how the pressure is known, as its source says; "own" */
    bool predicted;             /* by a model */
    double activity, transfer;  /* 1: ideal */
    double threshold;           /* odour threshold in µg/m3; 0: unknown */
    const char *label;          /* "top" "heart" "base", or NULL */
    enum pm_stage stage;        /* by vapour pressure */
    bool odd;                   /* the label disagrees with the pressure by a decade */
};
struct pm_dry_missing {
    const char *name;
    double percent;  /* of the formula's mass */
    const char *why; /* "no vapour pressure"; static */
};
/* From the person's own note that something was gone. */
struct pm_dry_clock {
    double rate;       /* K in mol/(g Pa s), of a gram of the formula; 0: not calibrated */
    const char *words; /* "by note 12: Linalool down to 10 % after 40 min on blotter" */
};
struct pm_drydown {
    int64_t formula, trial, number;
    const char *title;                 /* "Name/3" */
    struct pm_dry_material *materials; /* by vapour pressure, highest first; as in mix */
    size_t count;
    struct pm_dry_missing *missing; /* largest first */
    size_t missing_count;
    double missing_percent;   /* of the formula's mass, together */
    double predicted_percent; /* of the modelled amount, by mole: rests on predicted pressures */
    double assumed_percent;   /* the same for assumed molar masses */
    bool ideal;               /* no coefficients were given */
    struct pm_dry_mix mix;    /* moles per gram of the formula; count 0: nothing can be modelled */
    struct pm_dry_clock clock;
    struct pm_arena arena;
};
/* Of a kept trial or a draft. PM_REFUSED for an empty one. */
enum pm_status pm_drydown_open(struct pm_studio *studio, int64_t trial,
                               const struct pm_dry_options *options, struct pm_drydown *out,
                               struct pm_error *err);
/* The same of a sheet that is not written: what a plan would give. */
enum pm_status pm_drydown_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_dry_options *options, struct pm_drydown *out,
                             struct pm_error *err);
void pm_drydown_release(struct pm_drydown *drydown);
/* Place of a material by its name or the only one that begins so (case and accents ignored), or
 * "#N". PM_MISSING, also for one that is in the formula but not modelled. */
enum pm_status pm_drydown_find(const struct pm_drydown *drydown, const char *text, size_t *out,
                               struct pm_error *err);
/* What has to be said with every curve, one sentence per line: what is not modelled, what is
 * predicted or assumed, that there are no hours. */
void pm_drydown_say(const struct pm_drydown *drydown, char sign, struct pm_text *out);
/* Labels that disagree with the vapour pressure, one sentence per line; nothing when none does. */
void pm_drydown_say_odd(const struct pm_drydown *drydown, char sign, struct pm_text *out);

/* A smell note says that a material was gone: from then on the formula's drydowns have times. left:
 * what of its start counts as gone ("10%", the usual). PM_REFUSED for a note at once, or where the
 * model never gets there. *sentence (may be NULL) is a new string. */
enum pm_status pm_drydown_calibrate(struct pm_studio *studio, int64_t smell, const char *material,
                                    const char *left, char **sentence, struct pm_error *err);

/* ---- pictures ---- */

enum pm_dry_view {
    PM_DRY_LEFT, /* what is left of each, percent of its own start, with bands */
    PM_DRY_AIR   /* shares of the vapour in percent */
};
struct pm_dry_picture {
    const struct pm_drydown *drydowns; /* one or two trials, borrowed */
    size_t count;
    enum pm_dry_view view;
    const int64_t *materials; /* ids; at most PM_PLOT_SERIES_MAX curves in all */
    size_t material_count;
    bool by_time; /* minutes instead of the fraction; every trial must have a clock */
    bool ascii, fine;
    size_t width, height;
    char sign;
};
/* The picture, and the same in words: a line per curve. */
enum pm_status pm_drydown_plot(const struct pm_dry_picture *picture, struct pm_plot *out,
                               struct pm_text *words, struct pm_error *err);
/* A page of HTML with the curves as SVG, their table and what has to be said; no script, nothing
 * from elsewhere. Appended to out. */
enum pm_status pm_drydown_html(const struct pm_dry_picture *picture, struct pm_text *out,
                               struct pm_error *err);
/* The materials whose curves tell most: the largest amounts of each stage, at most `most`. Into
 * ids; how many. */
size_t pm_drydown_choose(const struct pm_drydown *drydown, size_t most, int64_t *ids);

/* ---- the bench ---- */

struct pm_dry_line {
    int stage; /* enum pm_stage of a material line; -1: no figure; -2: a solvent; -3: an accord
                  of several stages */
    bool predicted;
    double share[PM_STAGES]; /* of what the formula holds of top, heart and base */
};
struct pm_dry_lines {
    struct pm_dry_line *items; /* one per line of the sheet */
    size_t count;
    struct pm_stage_profile profile; /* of the whole, by neat mass, solvents left out */
    double predicted;                /* the part of it that rests on predicted pressures */
    double *parts;                   /* private: what a part of each line brings of each stage */
    struct pm_arena arena;
};
/* Of the lines of a sheet. */
enum pm_status pm_drydown_lines(struct pm_studio *studio, const struct pm_sheet *sheet,
                                struct pm_dry_lines *out, struct pm_error *err);
/* The same lines with other parts (parts[count]), without reading: shares and profile follow. */
void pm_drydown_lines_again(struct pm_dry_lines *lines, const pm_parts *parts);
/* The profile were the lines' parts others (parts[count]): for the preview, no reading. */
void pm_drydown_lines_with(const struct pm_dry_lines *lines, const pm_parts *parts,
                           struct pm_stage_profile *out);
/* "^" top, "~" heart, "_" base, each followed by "?" where the figure is predicted; "?" no figure,
 * "*" several stages, "" for solvents. Static. */
const char *pm_dry_mark(const struct pm_dry_line *line);

#endif
