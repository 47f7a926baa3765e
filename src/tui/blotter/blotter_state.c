/* SPDX-License-Identifier: MIT */
/* What is selected, looked up in the state. */
#include "blotter.h"

const struct pm_session_entry *blotter_running(const struct blotter *blotter)
{
    return blotter->at < blotter->running.count ? &blotter->running.items[blotter->at] : NULL;
}

const struct pm_smell *blotter_note(const struct blotter *blotter)
{
    const size_t place = blotter->at - blotter->running.count;
    return blotter->at >= blotter->running.count && place < blotter->notes.count
               ? &blotter->notes.items[place]
               : NULL;
}

void blotter_title(const struct blotter *blotter, int64_t number, struct pm_text *out)
{
    pm_text_addf(out, "%s/%lld", blotter->name != NULL ? blotter->name : "?", (long long)number);
}

size_t blotter_rows(const struct blotter *blotter)
{
    return blotter->running.count + blotter->notes.count;
}
