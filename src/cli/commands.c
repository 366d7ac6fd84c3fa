#include "cli/command.h"

const struct sl_command *const sl_commands[] = {
    &sl_command_mark,       &sl_command_plan,    &sl_command_list,     &sl_command_check,
    &sl_command_rehearse,   &sl_command_hear,    &sl_command_cues,     &sl_command_recall,
    &sl_command_soundcheck, &sl_command_phrases, &sl_command_merge,    &sl_command_progress,
    &sl_command_export,     &sl_command_forget,  &sl_command_homework, &sl_command_route,
    &sl_command_drive,
};
const size_t sl_n_commands = sizeof sl_commands / sizeof *sl_commands;
