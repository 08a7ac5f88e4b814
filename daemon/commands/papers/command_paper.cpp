#include "commands/papers/command_paper.h"

#include <algorithm>

#include "commands/command.h"

namespace brimwatch {
namespace {

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> parts;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t to = std::min(text.find(at, from), text.size());
    parts.push_back(text.substr(from, to - from));
    from = to + 1;
  }
  return parts;
}

/// Where the checks begin; the colons of "hh:mm:ss" are a value's own.
std::size_t end_of_value(const std::string& type) {
  std::size_t at = type.find(':');
  while (at != std::string::npos && at + 1 < type.size() &&
         std::string_view("mMsS").find(type[at + 1]) != std::string_view::npos)
    at = type.find(':', at + 1);
  return at;
}

/// The library writes type and checks as one text: "TEXT:{exchange,utc}", "INT:INT in [1 - 390]", "FILES:PATH(existing)".
void read_type(const std::string& type, OptionPaper& paper) {
  paper.value = type.substr(0, end_of_value(type));
  if (const auto open = type.find('{'), close = type.find('}'); open != std::string::npos && close > open)
    paper.words = split(type.substr(open + 1, close - open - 1), ',');
  if (const auto open = type.find('['), close = type.find(']'); open != std::string::npos && close != std::string::npos) {
    paper.range = type.substr(open + 1, close - open - 1);
    if (const auto dash = paper.range.find(" - "); dash != std::string::npos) paper.range.replace(dash, 3, " to ");
  }
}

OptionPaper option_paper(const CLI::Option& option) {
  OptionPaper paper;
  if (option.nonpositional()) {
    for (const std::string& name : option.get_snames()) paper.names.push_back("-" + name);
    for (const std::string& name : option.get_lnames()) paper.names.push_back("--" + name);
  } else {
    paper.names.push_back(option.get_name());
  }
  if (option.get_items_expected_max() > 0) read_type(option.get_type_name(), paper);
  paper.what = option.get_description();
  paper.fallback = option.get_default_str();
  paper.required = option.get_required();
  paper.many = option.get_items_expected_max() > 1;
  return paper;
}

CommandPaper command_paper(const CLI::App& app, const std::string& name) {
  CommandPaper paper;
  paper.name = name;
  paper.what = app.get_description();
  paper.footer = app.get_footer();
  for (const CLI::Option* option : app.get_options())
    (option->nonpositional() ? paper.options : paper.positionals).push_back(option_paper(*option));
  for (const CLI::App* below : app.get_subcommands({})) {
    paper.commands.push_back(command_paper(*below, name.empty() ? below->get_name() : name + " " + below->get_name()));
  }
  return paper;
}

}  // namespace

CommandPaper program_paper() {
  CLI::App root;
  CommandContext context;
  describe_program(root);
  add_all_commands(root, context);
  return command_paper(root, "");
}

Offer offer_for(const CommandPaper& command, const OptionPaper& option) {
  if (!option.words.empty()) return Offer::words;
  if (command.name == "channels try" && option.value == "NAME") return Offer::channels;
  if (option.value == "DIR") return Offer::directories;
  for (const char* tape : {"TAPE", "TAPE|BARS|DIR"})
    if (option.value == tape) return Offer::tapes;
  if (option.value == "SYMBOL") return Offer::symbols;
  for (const char* file : {"FILE", "FILES", "PATH", "FILE|DIR", "SAMPLE|URL"})
    if (option.value == file) return Offer::files;
  return Offer::nothing;
}

}  // namespace brimwatch
