/* SPDX-License-Identifier: MIT */
/* Another library that comes in, chosen by options of "import". */
#ifndef PERMILLE_CLI_ANOTHER_H
#define PERMILLE_CLI_ANOTHER_H

#include "cli.h"

#include "permille/base/text.h"

/* Whether the options choose among a library's items (--only, --also, --skip, --as). */
bool pm_cli_chooses(const struct pm_cli *cli);
/* Shows what there is and what would come in, or brings it in unless `dry`. `text` is a whole
 * library's document; NULL: the library at path. */
enum pm_status pm_cli_import_another(struct pm_cli *cli, const char *path,
                                     const struct pm_text *text, bool dry, struct pm_error *err);

#endif
