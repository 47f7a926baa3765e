/* SPDX-License-Identifier: MIT */
/* What is so of a kind of gesture, whatever trial it is done on. */
#include "permille/core/gesture.h"

const char *pm_gesture_word(enum pm_gesture_kind kind)
{
    static const char *const words[] = {
        [PM_SET] = "set",
        [PM_NUDGE] = "nudge",
        [PM_SCALE] = "scale",
        [PM_ADD] = "add",
        [PM_DROP] = "drop",
        [PM_SWAP] = "swap",
        [PM_SET_STANCE] = "set-stance",
        [PM_FORM_CORE] = "form-core",
        [PM_BREAK_CORE] = "break-core",
        [PM_LEAVE_CORE] = "leave-core",
        [PM_SET_MODE] = "set-mode",
        [PM_SET_BASE] = "set-base",
        [PM_SETTLE] = "settle",
        [PM_RESTRENGTH] = "restrength",
        [PM_FOLD] = "fold",
        [PM_UNFOLD] = "unfold",
        [PM_MOVE] = "move",
        [PM_COMMENT] = "comment",
        [PM_BRANCH] = "branch",
    };
    return words[kind];
}

bool pm_gesture_sets_amount(enum pm_gesture_kind kind)
{
    return kind == PM_SET || kind == PM_NUDGE || kind == PM_SCALE;
}
