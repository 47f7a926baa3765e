/* SPDX-License-Identifier: MIT */
/* The real table of commands keeps the promises the frame relies on. */
#include "src/cli/cli.h"

#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* Calls `look` for every command. */
static void each(void (*look)(const struct pm_cli_command *command))
{
    const struct pm_cli_command *command;
    for (size_t n = 0; (command = pm_cli_command_at(&pm_cli_all_topics, n)) != NULL; n++)
        look(command);
}

static void sentence_fits(const char *name, const char *help)
{
    const size_t length = strlen(help);
    if (length == 0 || isupper((unsigned char)help[0]) || help[length - 1] == '.')
        fail_msg("%s: \"%s\" is not in the form of the others", name, help);
}

static void command_is_whole(const struct pm_cli_command *command)
{
    assert_non_null(command->name);
    assert_non_null(command->operands);
    assert_non_null(command->run);
    assert_true(command->most < 0 || command->least <= command->most);
    sentence_fits(command->name, command->help);
    const struct pm_cli_option *option = command->options;
    for (; option != NULL && option->name != NULL; option++) {
        sentence_fits(option->name, option->help);
        if (option->words != NULL)
            assert_non_null(option->value);
        for (const struct pm_cli_option *other = pm_cli_global_options; other->name != NULL;
             other++)
            assert_string_not_equal(option->name, other->name);
        for (const struct pm_cli_option *other = command->options; other != option; other++)
            assert_string_not_equal(option->name, other->name);
    }
}

static void every_command_is_whole(void **state)
{
    (void)state;
    each(command_is_whole);
}

static int named;
static const char *looked_for;

static void count_named(const struct pm_cli_command *command)
{
    named += strcmp(command->name, looked_for) == 0;
}

static void count_self(const struct pm_cli_command *command)
{
    named = 0;
    looked_for = command->name;
    each(count_named);
    assert_int_equal(named, 1);
}

static void names_stand_once(void **state)
{
    (void)state;
    each(count_self);
}

static const struct pm_cli_option *compared;

static void same_shape(const struct pm_cli_command *command)
{
    const struct pm_cli_option *option = command->options;
    for (; option != NULL && option->name != NULL; option++)
        if (strcmp(option->name, compared->name) == 0 &&
            (option->value == NULL) != (compared->value == NULL))
            fail_msg("--%s takes a value in one command and none in another (%s)", option->name,
                     command->name);
}

static void compare_options(const struct pm_cli_command *command)
{
    for (compared = command->options; compared != NULL && compared->name != NULL; compared++)
        each(same_shape);
}

/* Only so can options be read before the command is known. */
static void option_takes_a_value_everywhere_or_nowhere(void **state)
{
    (void)state;
    each(compare_options);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_command_is_whole),
        cmocka_unit_test(names_stand_once),
        cmocka_unit_test(option_takes_a_value_everywhere_or_nowhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
