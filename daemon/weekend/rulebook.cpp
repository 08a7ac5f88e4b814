#include "weekend/rulebook.h"

#include <toml++/toml.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <sstream>

#include "core/text/text.h"
#include "core/text/toml_guard.h"

namespace brimwatch {
namespace {

const RuleKey* find(std::string_view word) {
  const auto keys = rule_keys();
  const auto found = std::find_if(keys.begin(), keys.end(), [&](const RuleKey& key) { return word == key.name; });
  return found == keys.end() ? nullptr : &*found;
}

bool is_whole(const RuleKey& key) { return std::holds_alternative<int RuleBook::*>(key.member); }

void put(RuleBook& book, const RuleKey& key, double value) {
  if (is_whole(key)) book.*std::get<int RuleBook::*>(key.member) = static_cast<int>(value);
  else book.*std::get<double RuleBook::*>(key.member) = value;
}

std::string place(const toml::source_region& at, std::string_view name) {
  return std::string(name) + ":" + std::to_string(at.begin.line) + ":" + std::to_string(at.begin.column) + ": ";
}

std::string bounds(const RuleKey& key) {
  char text[80];
  std::snprintf(text, sizeof text, "%s from %g to %g", is_whole(key) ? "a whole number" : "a number", key.least,
                key.most);
  return text;
}

Status set_key(RuleBook& book, const RuleKey& key, const toml::node& node, std::string_view name) {
  const bool whole = is_whole(key);
  const auto value = node.is_integer() || (node.is_floating_point() && !whole) ? node.value<double>() : std::nullopt;
  if (!value || !(*value >= key.least && *value <= key.most)) {
    std::ostringstream found;
    if (const auto* text = node.as_string()) {
      found << '"' << text->get() << '"';
    } else {
      node.visit([&](const auto& n) { found << n; });
    }
    return fail(place(node.source(), name) + key.name + ": found " + found.str() + ", expected " + bounds(key) +
                "; the rules were not loaded");
  }
  put(book, key, *value);
  return {};
}

Status set_all(RuleBook& book, const toml::table& table, std::string_view name) {
  for (const auto& [key, node] : table) {
    const std::string_view word = key.str();
    const RuleKey* found = find(word);
    if (found == nullptr) {
      return fail(place(node.source(), name) + "unknown key \"" + std::string(word) +
                  "\"; `brimwatch prepare --show-rules` prints all of them; the rules were not loaded");
    }
    if (auto done = set_key(book, *found, node, name); !done) return done;
  }
  return {};
}

}  // namespace

Result<RuleBook> parse_rules(std::string_view text, std::string_view name, const RuleBook& base) {
  if (const auto trouble = toml_trouble(text)) {
    return fail(std::string(name) + ":" + std::to_string(trouble->line) + ":" + std::to_string(trouble->column) + ": " +
                std::string(trouble->text) + "; the rules were not loaded");
  }
  try {
    const toml::table root = toml::parse(text, name);
    const toml::table* part = root["prepare"].as_table();
    RuleBook book = base;
    if (auto done = set_all(book, part ? *part : root, name); !done) return tl::unexpected(done.error());
    return book;
  } catch (const toml::parse_error& problem) {
    return fail(place(problem.source(), name) + clean_line(problem.description()) + "; the rules were not loaded");
  }
}

Status set_rule(RuleBook& book, std::string_view assignment) {
  const std::size_t sign = assignment.find('=');
  const std::string_view name = assignment.substr(0, sign);
  const RuleKey* key = find(name);
  if (sign == std::string_view::npos || key == nullptr) {
    return fail("found \"" + std::string(assignment) +
                "\", expected NAME=NUMBER such as rise_least=25; `brimwatch prepare --show-rules` prints all names");
  }
  const std::string_view text = assignment.substr(sign + 1);
  double value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool number = problem == std::errc() && end == text.data() + text.size();
  if (!number || !(value >= key->least && value <= key->most) || (is_whole(*key) && value != std::floor(value)))
    return fail(std::string(name) + ": found \"" + std::string(text) + "\", expected " + bounds(*key));
  put(book, *key, value);
  return {};
}

std::string to_toml(const RuleBook& book) {
  std::string out = "[prepare]\n";
  for (const RuleKey& key : rule_keys()) {
    char line[200];
    const double value =
        is_whole(key) ? book.*std::get<int RuleBook::*>(key.member) : book.*std::get<double RuleBook::*>(key.member);
    std::snprintf(line, sizeof line, "%-22s = %-8.10g # %s\n", key.name, value, key.meaning);
    out += line;
  }
  return out;
}

}  // namespace brimwatch
