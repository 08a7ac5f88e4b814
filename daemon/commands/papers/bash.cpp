#include "commands/papers/completion.h"

namespace brimwatch {
namespace {

constexpr const char* kChannels = R"($(brimwatch channels list 2>/dev/null | sed 's/  .*//'))";

constexpr const char* kSymbols = R"($(brimwatch check --names 2>/dev/null))";

/// Folders, and files whose names end as recordings do; one pattern a call, for not every shell has more of them.
std::string tapes_line() {
  std::string out = "compopt -o filenames; local IFS=$'\\n'; COMPREPLY=($(compgen -d -- \"$word\")";
  for (const std::string_view ending : kTapeEndings)
    out.append(" $(compgen -f -X '!*.").append(ending).append("' -- \"$word\")");
  return out + "); return";
}

std::string offer_line(const CommandPaper& command, const OptionPaper& option) {
  std::string words;
  switch (offer_for(command, option)) {
    case Offer::nothing:
      return "return";
    case Offer::words:
      for (const std::string& word : option.words) words += (words.empty() ? "" : " ") + word;
      return "COMPREPLY=($(compgen -W '" + words + "' -- \"$word\")); return";
    case Offer::files:
      return "compopt -o filenames; COMPREPLY=($(compgen -f -- \"$word\")); return";
    case Offer::directories:
      return "compopt -o filenames; COMPREPLY=($(compgen -d -- \"$word\")); return";
    case Offer::tapes:
      return tapes_line();
    case Offer::symbols:
      return std::string("COMPREPLY=($(compgen -W \"") + kSymbols + "\" -- \"$word\")); return";
    case Offer::channels:
      return std::string("local IFS=$'\\n'; COMPREPLY=($(compgen -W \"") + kChannels + "\" -- \"$word\")); return";
  }
  return "return";
}

std::string names_of(const OptionPaper& option, const char* between) {
  std::string out;
  for (const std::string& name : option.names) out += (out.empty() ? "" : between) + name;
  return out;
}

void add_bash_cases(const CommandPaper& command, std::string& values, std::string& words, std::string& paths) {
  std::string options, commands, place;
  for (const OptionPaper& option : command.options) {
    options += " " + names_of(option, " ");
    if (option.value.empty()) continue;
    std::string label;
    for (const std::string& name : option.names)
      label += (label.empty() ? "" : "|") + ("'" + command.name + " " + name + "'");
    values += "    " + label + ") " + offer_line(command, option) + " ;;\n";
  }
  for (const CommandPaper& below : command.commands) {
    const std::string last = below.name.substr(below.name.rfind(' ') + 1);
    commands += " " + last;
    paths += "      '" + command.name + ":" + last + "') command='" + below.name + "' ;;\n";
  }
  if (!command.positionals.empty()) place = offer_line(command, command.positionals.front());
  words += "    '" + command.name + "') if [[ $word == -* ]]; then COMPREPLY=($(compgen -W '" + options.substr(1) +
           "' -- \"$word\")); return; fi\n";
  if (!commands.empty())
    words += "      COMPREPLY=($(compgen -W '" + commands.substr(1) + "' -- \"$word\")); return ;;\n";
  else words += "      " + (place.empty() ? "return" : place) + " ;;\n";
  for (const CommandPaper& below : command.commands) add_bash_cases(below, values, words, paths);
}

}  // namespace

std::string bash_completion(const CommandPaper& program) {
  std::string values, words, paths;
  add_bash_cases(program, values, words, paths);
  return "# Completion of brimwatch for bash. Made from the program's own arguments.\n"
         "# shellcheck shell=bash disable=SC2207\n"
         "_brimwatch() {\n"
         "  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command='' i\n"
         "  COMPREPLY=()\n"
         "  for ((i = 1; i < COMP_CWORD; i++)); do\n"
         "    case \"$command:${COMP_WORDS[i]}\" in\n" +
         paths +
         "    esac\n"
         "  done\n"
         "  case \"$command $before\" in\n" +
         values +
         "  esac\n"
         "  case \"$command\" in\n" +
         words +
         "  esac\n"
         "}\n"
         "complete -F _brimwatch brimwatch\n";
}

}  // namespace brimwatch
