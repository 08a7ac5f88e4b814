#include "commands/mistyped.h"

#include <algorithm>
#include <string_view>

#include "config/reading/nearest.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

/// The command that the words have come to, and how it is called.
struct Reached {
  const CLI::App* app = nullptr;
  std::string name;
};

std::vector<const CLI::App*> commands_below(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

std::vector<std::string> names_below(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* one : commands_below(app)) names.push_back(one->get_name());
  return names;
}

const CLI::App* command_named(const CLI::App& app, const std::string& word) {
  for (const CLI::App* one : commands_below(app))
    if (one->get_name() == word) return one;
  return nullptr;
}

bool is_option(const std::string& word) { return !word.empty() && word.front() == '-'; }

Reached reach(const CLI::App& root, const std::vector<std::string>& words) {
  Reached at{&root, root.get_name()};
  for (const std::string& word : words) {
    const CLI::App* below = is_option(word) ? nullptr : command_named(*at.app, word);
    if (below != nullptr) at = {below, at.name + " " + word};
  }
  return at;
}

std::string say(const Reached& at, const char* what, const std::string& word, const std::vector<std::string>& known) {
  const std::vector<std::string_view> views(known.begin(), known.end());
  const std::string_view near = nearest(word, views);
  std::string text = at.name + ": there is no " + what + " \"" + clean_line(word, 40) + "\"";
  if (!near.empty()) return text.append("; did you mean \"").append(near).append("\"?");
  return text + "; " + at.name + " --help lists them";
}

}  // namespace

std::optional<std::string> mistyped_command(const CLI::App& root, const std::vector<std::string>& words) {
  Reached at{&root, root.get_name()};
  for (const std::string& word : words) {
    if (is_option(word) || at.app->get_require_subcommand_min() == 0) return std::nullopt;
    const CLI::App* below = command_named(*at.app, word);
    if (below == nullptr) return say(at, "command", word, names_below(*at.app));
    at = {below, at.name + " " + word};
  }
  return std::nullopt;
}

std::optional<std::string> mistyped_word(const CLI::App& root, const std::vector<std::string>& words) {
  const Reached at = reach(root, words);
  std::vector<std::string> known;
  for (const CLI::Option* option : at.app->get_options()) {
    for (const std::string& name : option->get_lnames()) known.push_back("--" + name);
    for (const std::string& name : option->get_snames()) known.push_back("-" + name);
  }
  for (const std::string& word : words) {
    if (word == "--") break;
    const std::string name = word.substr(0, word.find('='));
    const bool is_long = name.starts_with("--");
    if (is_long && std::find(known.begin(), known.end(), name) == known.end()) return say(at, "option", name, known);
  }
  const std::vector<std::string> below = names_below(*at.app);
  for (const std::string& word : words)
    if (!nearest(word, {below.begin(), below.end()}).empty()) return say(at, "command", word, below);
  return std::nullopt;
}

}  // namespace brimwatch
