#include "commands/papers/completion.h"

namespace brimwatch {
namespace {

std::string single_quoted(const std::string& text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'' || c == '\\') out += '\\';
    if (c != '`') out += c;
  }
  return out + "'";
}

std::string fish_action(const CommandPaper& command, const OptionPaper& option) {
  std::string words;
  switch (offer_for(command, option)) {
    case Offer::nothing:
      return " -x";
    case Offer::words:
      for (const std::string& word : option.words) words += (words.empty() ? "" : " ") + word;
      return " -x -a " + single_quoted(words);
    case Offer::tapes:  // fish knows no choice among endings
    case Offer::files:
      return " -r -F";
    case Offer::directories:
      return " -x -a '(__fish_complete_directories)'";
    case Offer::symbols:
      return " -x -a \"(brimwatch check --names 2>/dev/null)\"";
    case Offer::channels:
      return " -x -a \"(brimwatch channels list 2>/dev/null | string replace -r '  .*' '')\"";
  }
  return "";
}

std::string condition(const CommandPaper& command, bool before_below) {
  std::string seen;
  if (command.name.empty()) return "__fish_use_subcommand";
  for (std::size_t from = 0; from < command.name.size();) {
    const std::size_t to = std::min(command.name.find(' ', from), command.name.size());
    seen += (seen.empty() ? "" : "; and ") + ("__fish_seen_subcommand_from " + command.name.substr(from, to - from));
    from = to + 1;
  }
  if (!before_below) return seen;
  std::string below;
  for (const CommandPaper& one : command.commands) below += " " + one.name.substr(one.name.rfind(' ') + 1);
  return seen + "; and not __fish_seen_subcommand_from" + below;
}

void add_fish_lines(const CommandPaper& command, std::string& out) {
  const std::string start = "complete -c brimwatch -n " + single_quoted(condition(command, !command.commands.empty()));
  for (const CommandPaper& below : command.commands) {
    out += start + " -a " + below.name.substr(below.name.rfind(' ') + 1) + " -d " + single_quoted(below.what) + "\n";
  }
  for (const OptionPaper& option : command.options) {
    out += start;
    for (const std::string& name : option.names)
      out += name[1] == '-' ? " -l " + name.substr(2) : " -s " + name.substr(1);
    if (!option.value.empty()) out += fish_action(command, option);
    out += " -d " + single_quoted(option.what) + "\n";
  }
  if (!command.positionals.empty() && offer_for(command, command.positionals.front()) != Offer::nothing) {
    const OptionPaper& place = command.positionals.front();
    const std::string what = fish_action(command, place);
    out += start + (what == " -r -F" ? " -F" : what) + "\n";
  }
  for (const CommandPaper& below : command.commands) add_fish_lines(below, out);
}

}  // namespace

std::string fish_completion(const CommandPaper& program) {
  std::string out =
      "# Completion of brimwatch for fish. Made from the program's own arguments.\n"
      "complete -c brimwatch -f\n";
  add_fish_lines(program, out);
  return out;
}

}  // namespace brimwatch
