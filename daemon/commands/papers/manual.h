#pragma once
// The parts of the manual that are made: commands with their options, sections of the configuration with their keys. The
// prose round them is in config/manual/*.in, which names the parts as @COMMANDS@, @SECTIONS@ and @WATCH_KEYS@.
#include <string>

#include "commands/papers/command_paper.h"

namespace brimwatch {

/// Each command: what it does, its options, its examples.
[[nodiscard]] std::string manual_commands(const CommandPaper& program);
/// Each section of the main file with its keys, but for [[watch]].
[[nodiscard]] std::string manual_sections();
/// The keys of a [[watch]].
[[nodiscard]] std::string manual_watch_keys();

/// The page for a template: the parts above and @VERSION@ put in.
[[nodiscard]] std::string manual_page(std::string_view page_template, const CommandPaper& program,
                                      const std::string& version);

}  // namespace brimwatch
