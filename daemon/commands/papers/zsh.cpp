#include "commands/papers/completion.h"

namespace brimwatch {
namespace {

/// Inside single quotes of a specification of _arguments: colons and brackets mean something there.
std::string inside(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '[' || c == ']' || c == ':' || c == '\\') out += '\\';
    if (c == '\'') out += "'\\''";
    else if (c == '`') out += "";
    else out += c;
  }
  return out;
}

std::string joined(const std::array<std::string_view, 4>& endings) {
  std::string out;
  for (const std::string_view ending : endings) out.append(out.empty() ? "" : "|").append(ending);
  return out;
}

std::string zsh_action(const CommandPaper& command, const OptionPaper& option) {
  std::string words;
  switch (offer_for(command, option)) {
    case Offer::nothing:
      return " ";
    case Offer::words:
      for (const std::string& word : option.words) words += (words.empty() ? "" : " ") + word;
      return "(" + words + ")";
    case Offer::files:
      return "_files";
    case Offer::directories:
      return "_files -/";
    case Offer::tapes:
      return "_files -g \"*.(" + joined(kTapeEndings) + ")(-.)\"";
    case Offer::symbols:
      return "_brimwatch_symbols";
    case Offer::channels:
      return "_brimwatch_channel_names";
  }
  return " ";
}

std::string specification(const CommandPaper& command, const OptionPaper& option) {
  std::string all, out;
  for (const std::string& name : option.names) all += (all.empty() ? "" : " ") + name;
  const std::string value =
      option.value.empty() ? "" : ":" + inside(option.value) + ":" + inside(zsh_action(command, option));
  for (const std::string& name : option.names)
    out += " \\\n      '(" + all + ")" + name + "[" + inside(option.what) + "]" + value + "'";
  return out;
}

std::string function_of(const CommandPaper& command) {
  std::string name = "_brimwatch";
  if (!command.name.empty()) name += "_" + command.name;
  for (char& c : name) c = c == ' ' ? '_' : c;
  return name;
}

/// One function a command; one that has others below it hands over to theirs.
void add_zsh_function(const CommandPaper& command, std::string& out) {
  for (const CommandPaper& below : command.commands) add_zsh_function(below, out);
  std::string list, choice;
  for (const CommandPaper& below : command.commands) {
    const std::string last = below.name.substr(below.name.rfind(' ') + 1);
    list += " '" + last + ":" + inside(below.what) + "'";
    choice += "        " + last + ") " + function_of(below) + " ;;\n";
  }
  std::string specifications;
  for (const OptionPaper& option : command.options) specifications += specification(command, option);
  if (!command.positionals.empty()) {
    const OptionPaper& place = command.positionals.front();
    specifications += " \\\n      '*:" + inside(place.value) + ":" + inside(zsh_action(command, place)) + "'";
  }
  out += function_of(command) + "() {\n";
  if (command.commands.empty()) {
    out += "  _arguments -s" + specifications + "\n}\n\n";
    return;
  }
  out += "  local context state state_descr line\n  typeset -A opt_args\n  local -a commands\n  commands=(" + list +
         ")\n" + "  _arguments -C" + specifications + " \\\n      '1:command:->command' '*::argument:->argument'\n" +
         "  case $state in\n    command) _describe command commands ;;\n    argument)\n      case $line[1] in\n" +
         choice + "      esac ;;\n  esac\n}\n\n";
}

}  // namespace

std::string zsh_completion(const CommandPaper& program) {
  std::string functions;
  add_zsh_function(program, functions);
  return "#compdef brimwatch\n# Completion of brimwatch for zsh. Made from the program's own arguments.\n\n"
         "_brimwatch_channel_names() {\n"
         "  local -a names\n"
         "  names=(${(f)\"$(brimwatch channels list 2>/dev/null | sed 's/  .*//')\"})\n"
         "  compadd -a names\n"
         "}\n\n"
         "_brimwatch_symbols() {\n"
         "  local -a names\n"
         "  names=(${(f)\"$(brimwatch check --names 2>/dev/null)\"})\n"
         "  compadd -a names\n"
         "}\n\n" +
         functions + "_brimwatch \"$@\"\n";
}

}  // namespace brimwatch
