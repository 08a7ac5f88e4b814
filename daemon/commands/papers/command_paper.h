#pragma once
// A command as plain data: what its page in the manual says, and what a shell can complete. Read from the arguments that
// the program itself parses.
#include <string>
#include <vector>

namespace brimwatch {

struct OptionPaper {
  std::vector<std::string> names;  ///< "-c", "--config", the short one first; of a positional its name
  std::string value;               ///< "FILE"; empty: a flag
  std::vector<std::string> words;  ///< the values allowed, where they are few
  std::string range;               ///< "1 to 390"; empty: none
  std::string what;                ///< as --help says it
  std::string fallback;            ///< its default, where --help shows one
  bool required = false;
  bool many = false;  ///< may be given more than once in a row
};

struct CommandPaper {
  std::string name;  ///< "channels try" for one below another
  std::string what, footer;
  std::vector<OptionPaper> options, positionals;
  std::vector<CommandPaper> commands;
};

/// The whole program, with the commands in the order of its help.
[[nodiscard]] CommandPaper program_paper();

/// What a shell should offer for a value.
enum class Offer : unsigned char { nothing, words, files, directories, tapes, channels, symbols };
[[nodiscard]] Offer offer_for(const CommandPaper& command, const OptionPaper& option);

}  // namespace brimwatch
