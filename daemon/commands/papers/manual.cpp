#include "commands/papers/manual.h"

#include <algorithm>
#include <cstdio>

#include "commands/papers/roff.h"
#include "config/sections/sections.h"

namespace brimwatch {
namespace {

std::string joined(const std::vector<std::string>& words, const char* between) {
  std::string out;
  for (const std::string& word : words) out.append(out.empty() ? "" : between).append(roff_bold(word));
  return out;
}

/// "text; one of a, b; default: c."
std::string about(const OptionPaper& option) {
  std::string out = roff(option.what);
  if (!option.words.empty()) out += "; one of " + joined(option.words, ", ");
  if (!option.range.empty()) out += "; from " + roff(option.range);
  if (!option.fallback.empty()) out += "; default: " + roff(option.fallback);
  return out + ".";
}

std::string option_term(const OptionPaper& option) {
  std::string out = joined(option.names, ", ");
  const std::string value = option.words.empty() ? option.value : "WORD";
  return value.empty() ? out : out + " " + roff_italic(value);
}

std::string synopsis(const CommandPaper& command) {
  std::string out = roff_bold("brimwatch " + command.name);
  for (const OptionPaper& option : command.options)
    if (option.required) out += " " + option_term(option);
  out += " [" + roff_italic("option") + " ...]";
  for (const OptionPaper& place : command.positionals) {
    const std::string value = roff_italic(place.value) + (place.many ? " ..." : "");
    out += place.required ? " " + value : " [" + value + "]";
  }
  return out;
}

/// The footer of a command's help: each line begins anew, a long one is filled, an empty one parts paragraphs.
std::string footer(const std::string& text) {
  std::string out;
  bool fresh = true;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    const std::size_t word = text.find_first_not_of(' ', from);
    if (word < to) out += (fresh ? ".PP\n" : ".br\n") + roff(text.substr(word, to - word)) + "\n";
    fresh = word >= to;
    from = to + 1;
  }
  return out;
}

void add_manual_section(const CommandPaper& command, std::string& out) {
  if (!command.commands.empty() && command.options.size() < 2) {  // --help alone: only those below it do something
    for (const CommandPaper& below : command.commands) add_manual_section(below, out);
    return;
  }
  out += ".SS " + synopsis(command) + "\n" + roff(command.what) + ".\n";
  for (const OptionPaper& place : command.positionals) out += roff_term(roff_italic(place.value), about(place));
  for (const OptionPaper& option : command.options) {
    const bool help = std::find(option.names.begin(), option.names.end(), "--help") != option.names.end();
    if (!help) out += roff_term(option_term(option), about(option));
  }
  out += footer(command.footer);
  for (const CommandPaper& below : command.commands) add_manual_section(below, out);
}

/// A number of millionths as one writes it.
std::string decimal(std::int64_t micros) {
  char text[40];
  std::snprintf(text, sizeof text, "%.6f", static_cast<double>(micros) / 1e6);
  std::string out = text;
  out.erase(out.find_last_not_of('0') + 1);
  if (out.back() == '.') out.pop_back();
  return out;
}

std::string range_of(const Shape& shape) {
  const std::string from = shape.least == 1 ? "above 0" : "from " + decimal(shape.least);
  return from + (shape.least == 1 ? " and at most " : " to ") + decimal(shape.most);
}

std::string takes(const Shape& shape) {
  using Kind = Shape::Kind;
  switch (shape.kind) {
    case Kind::text:
    case Kind::lines:
      return "text";
    case Kind::path:
      return "a path";
    case Kind::paths:
      return "one path or a list";
    case Kind::pattern:
      return "one path or a list, wildcards allowed";
    case Kind::texts:
    case Kind::messages:
      return "one text or a list";
    case Kind::headers:
      return "a table of texts";
    case Kind::url:
      return "an address";
    case Kind::pointer:
      return "a JSON Pointer";
    case Kind::word:
    case Kind::words: {
      std::string out = shape.kind == Kind::words ? "one or a list of " : "one of ";
      for (const std::string_view word : shape.words)
        out.append(word.data() == shape.words.front().data() ? "" : ", ").append(word.empty() ? "\"\"" : word);
      return out;
    }
    case Kind::boolean:
      return "true or false";
    case Kind::count:
      return "a whole number from " + std::to_string(shape.least) + " to " + std::to_string(shape.most);
    case Kind::percent:
      return "percent, " + range_of(shape);
    case Kind::money:
      return "an amount, " + range_of(shape);
    case Kind::fraction:
      return "a number " + range_of(shape);
    case Kind::seconds:
      return "seconds, " + range_of(shape);
    case Kind::shares:
      return "shares, such as 1_300_000 or \"1.3M\"";
    case Kind::date:
      return "a day, such as 2026-11-25";
    case Kind::clock:
      return "a time of day, such as \"09:30\"";
    case Kind::letter:
      return "a capital letter";
    case Kind::mic:
      return "an ISO 10383 code, such as \"XNYS\"";
    case Kind::zone:
      return "the name of a time zone";
    case Kind::secret:
      return "{ env = NAME }, { file = PATH } (mode 0600) or { credential = NAME } (of systemd)";
    case Kind::table:
      return "a table";
    case Kind::table_of:
      return "a table of such tables";
    case Kind::tables:
      return "one such table or a list";
  }
  return "";
}

/// What a watch does not say itself, [rules] says.
std::string default_of_rule(const KeyInfo& key) {
  for (const KeyInfo& rule : infos(rules_keys()))
    if (rule.name == key.name && rule.what == key.what)
      return " Default: that of [rules], " + roff(default_of(rule)) + " unless set there.";
  return {};
}

/// Empty where a key must be set.
std::string default_sentence(const KeyInfo& key) {
  if (key.fallback == nullptr) return default_of_rule(key);
  const std::string value = default_of(key);
  return value.empty() ? " Default: none." : " Default: " + roff(value) + ".";
}

void add_keys(const std::vector<KeyInfo>& keys, std::string& out) {
  for (const KeyInfo& key : keys) {
    std::string text = roff(key.what) + ". Takes " + roff(takes(key.shape)) + ".";
    text += default_sentence(key);
    if (!key.only_for.empty()) text += " Kinds: " + roff(key.only_for) + ".";
    out += roff_term(roff_bold(key.name), text);
    if (key.shape.nested == nullptr) continue;
    out += ".RS\n";
    add_keys(key.shape.nested(), out);
    out += ".RE\n";
  }
}

void replace_part(std::string& page, std::string_view name, const std::string& text) {
  if (const auto at = page.find(name); at != std::string::npos) page.replace(at, name.size(), text);
}

}  // namespace

std::string manual_commands(const CommandPaper& program) {
  std::string out;
  for (const CommandPaper& command : program.commands) add_manual_section(command, out);
  return out;
}

std::string manual_sections() {
  std::string out;
  for (const SectionInfo& section : all_sections()) {
    if (section.name == "watch") continue;
    out += ".SS " + roff(section.heading) + "\n" + roff(section.what) + ".\n";
    add_keys(section.keys, out);
  }
  return out;
}

std::string manual_watch_keys() {
  std::string out;
  for (const SectionInfo& section : all_sections())
    if (section.name == "watch") add_keys(section.keys, out);
  return out;
}

std::string manual_page(std::string_view page_template, const CommandPaper& program, const std::string& version) {
  std::string page(page_template);
  replace_part(page, "@VERSION@", version);
  replace_part(page, "@COMMANDS@\n", manual_commands(program));
  replace_part(page, "@SECTIONS@\n", manual_sections());
  replace_part(page, "@WATCH_KEYS@\n", manual_watch_keys());
  return page;
}

}  // namespace brimwatch
