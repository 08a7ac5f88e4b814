#include "adapters/guessing/written.h"

#include <algorithm>
#include <cstdio>

#include "adapters/guessing/layout.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kWidth = 80;

std::string in_toml(std::string_view text) {
  std::string out;
  append_json_string(out, text);  // a basic string of TOML has the same escapes
  return out;
}

bool is_bare_key(std::string_view key) {
  return !key.empty() && std::all_of(key.begin(), key.end(), [](unsigned char c) {
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '_' || c == '-';
  });
}

std::string toml_key(std::string_view key) { return is_bare_key(key) ? std::string(key) : in_toml(key); }

template <typename Map>
std::string inline_table(const Map& map) {
  std::string out = "{ ";
  for (const auto& [key, value] : map) out += (out.size() > 2 ? ", " : "") + toml_key(key) + " = " + in_toml(value);
  return out + " }";
}

std::string list_of(const std::vector<std::string>& items) {
  std::string out = "[";
  for (const std::string& item : items) out += (out.size() > 1 ? ", " : "") + in_toml(item);
  return out + "]";
}

const FieldGuess* guess_of(const Proposal& proposal, MessageKind kind, Field field, const std::string& pointer) {
  for (const SortGuess& sort : proposal.sorts) {
    const auto found = sort.fields.find(field);
    if (sort.kind == kind && found != sort.fields.end() && found->second.pointer == pointer) return &found->second;
  }
  return nullptr;
}

/// The evidence behind a pointer, whichever kind it was found in.
const FieldGuess* guess_of(const Proposal& proposal, Field field, const std::string& pointer) {
  for (std::size_t kind = 0; kind < kKindsWithFields; ++kind) {
    if (const FieldGuess* guess = guess_of(proposal, static_cast<MessageKind>(kind), field, pointer)) return guess;
  }
  return nullptr;
}

std::string one_line(std::string_view text) { return clean_line(text, 300); }

void add_line(std::string& out, const std::string& key, const std::string& value, const std::string& comment) {
  std::string line = toml_key(key) + " = " + value;
  if (!comment.empty()) {
    line.resize(std::max<std::size_t>(line.size() + 2, 40), ' ');
    line += "# " + one_line(comment);
  }
  out += line + "\n";
}

void add_fields(const Proposal& proposal, const FieldMap& map, std::string& out) {
  FieldMap copy = map;
  if (!copy.messages.empty()) add_line(out, "messages", in_toml(copy.messages), "where the messages stand in a frame");
  for (std::size_t i = 0; i < kFields; ++i) {
    const auto field = static_cast<Field>(i);
    const std::string& pointer = pointer_in(copy, field);
    if (pointer.empty()) continue;
    const FieldGuess* guess = guess_of(proposal, field, pointer);
    add_line(out, field_name(field), in_toml(pointer),
             guess == nullptr ? "" : std::string(word_of(guess->sure)) + ": " + guess->why);
  }
  if (!copy.time_format.empty()) add_line(out, "time_format", in_toml(copy.time_format), "");
}

const KeyGuess* key_guess(const Proposal& proposal, std::string_view key) {
  const auto found =
      std::find_if(proposal.keys.begin(), proposal.keys.end(), [&](const KeyGuess& guess) { return guess.key == key; });
  return found == proposal.keys.end() ? nullptr : &*found;
}

std::string why_key(const Proposal& proposal, std::string_view key) {
  const KeyGuess* guess = key_guess(proposal, key);
  return guess == nullptr ? "" : std::string(word_of(guess->sure)) + ": " + guess->why;
}

void add_address(const FeedSettings& settings, std::string& out) {
  add_line(out, "name", in_toml(settings.name), "as it is called in notices");
  add_line(out, "kind", in_toml(settings.kind), "");
  if (settings.kind == "pipe") return;
  const bool known = !settings.url.empty();
  const char* place = settings.kind == "stream" ? "wss://source.example.org/" : "https://source.example.org/";
  add_line(out, "url", in_toml(known ? settings.url : place), known ? "" : "put your source's address here");
  if (settings.insecure_loopback) out += "insecure_loopback = true\n";
  if (!settings.ca_file.empty()) add_line(out, "ca_file", in_toml(settings.ca_file), "");
  if (settings.secret.kind == SecretSource::Kind::environment) {
    add_line(out, "secret", "{ env = " + in_toml(settings.secret.name) + " }", "");
  } else {
    out += "#secret = { env = \"QUOTES_KEY\" }       # your key, where the source wants one; {secret} stands for it\n";
  }
  if (!settings.headers.empty()) add_line(out, "headers", inline_table(settings.headers), "");
  if (settings.kind == "poll" && known) {
    char seconds[24];
    std::snprintf(seconds, sizeof seconds, "%.3g", static_cast<double>(settings.interval.count()) / 1000);
    add_line(out, "interval", seconds, "seconds from one question to the next");
  }
  if (settings.kind != "stream") return;
  if (!settings.hello.empty()) add_line(out, "hello", list_of(settings.hello), "");
  if (!settings.subscribe.empty()) add_line(out, "subscribe", in_toml(settings.subscribe), "");
  else out += "#subscribe = '{\"watch\":{symbols_json}}'  # what your source wants to be asked with\n";
}

void add_units(const Proposal& proposal, std::string& out) {
  const FeedSettings& s = proposal.settings;
  if (s.packing != "none") add_line(out, "packing", in_toml(s.packing), why_key(proposal, "packing"));
  if (s.encoding != "json") add_line(out, "encoding", in_toml(s.encoding), why_key(proposal, "encoding"));
  if (s.columns) add_line(out, "columns", "true", "each field is a list");
  if (!s.time_zone.empty()) add_line(out, "time_zone", in_toml(s.time_zone), why_key(proposal, "time_zone"));
  if (s.price_decimals != 0)
    add_line(out, "price_decimals", std::to_string(s.price_decimals), why_key(proposal, "price_decimals"));
  if (s.lot_size != 1) add_line(out, "lot_size", std::to_string(s.lot_size), why_key(proposal, "lot_size"));
  if (s.volume_lot_size != 1)
    add_line(out, "volume_lot_size", std::to_string(s.volume_lot_size), why_key(proposal, "volume_lot_size"));
  if (s.symbol_form != "{symbol}") add_line(out, "symbol_form", in_toml(s.symbol_form), why_key(proposal, "symbol_form"));
  if (!s.subscribe_form.empty()) add_line(out, "subscribe_form", list_of(s.subscribe_form), "");
  if (!s.symbol_names.empty())
    add_line(out, "symbol_names", inline_table(s.symbol_names), why_key(proposal, "symbol_names"));
  if (!s.symbol_words.empty())
    add_line(out, "symbol_words", inline_table(s.symbol_words), why_key(proposal, "symbol_words"));
  if (s.conditions != "none") add_line(out, "conditions", in_toml(s.conditions), why_key(proposal, "conditions"));
}

void add_kinds(const FeedSettings& s, std::string& out) {
  add_line(out, "default_kind", in_toml(s.default_kind),
           s.default_kind.empty() ? "what no word or rule tells is counted as unknown" : "");
  if (!s.kind_words.empty()) add_line(out, "kind_words", inline_table(s.kind_words), "");
  if (!s.status_words.empty()) add_line(out, "status_words", inline_table(s.status_words), "");
  if (!s.condition_words.empty()) add_line(out, "condition_words", inline_table(s.condition_words), "");
  if (!s.exchange_words.empty()) add_line(out, "exchange_words", inline_table(s.exchange_words), "");
  if (s.rules.empty()) return;
  out += "rules = [\n";
  for (const MessageRule& rule : s.rules) {
    out += "  { at = " + in_toml(rule.at) + ", equals = " + in_toml(rule.equals) + ", kind = " + in_toml(rule.kind) +
           " },\n";
  }
  out += "]\n";
}

OrderedJson fields_as_json(const FieldMap& map) {
  FieldMap copy = map;
  OrderedJson out = OrderedJson::object();
  if (!copy.messages.empty()) out["messages"] = copy.messages;
  for (std::size_t i = 0; i < kFields; ++i) {
    const auto field = static_cast<Field>(i);
    if (const std::string& pointer = pointer_in(copy, field); !pointer.empty()) out[field_name(field)] = pointer;
  }
  return out;
}

OrderedJson guesses_as_json(const Proposal& proposal) {
  OrderedJson out = OrderedJson::array();
  for (const SortGuess& sort : proposal.sorts) {
    if (!is_market(sort.kind)) continue;
    for (const auto& [field, guess] : sort.fields) {
      out.push_back({{"kind", kind_word(sort.kind)},
                     {"field", field_name(field)},
                     {"pointer", guess.pointer},
                     {"sure", word_of(guess.sure)},
                     {"why", guess.why}});
    }
  }
  for (const KeyGuess& key : proposal.keys)
    out.push_back({{"key", key.key}, {"value", key.value}, {"sure", word_of(key.sure)}, {"why", key.why}});
  return out;
}

OrderedJson sorts_as_json(const Proposal& proposal) {
  OrderedJson out = OrderedJson::array();
  for (std::size_t i = 0; i < proposal.sorts.size(); ++i) {
    const SortGuess& sort = proposal.sorts[i];
    OrderedJson row{{"word", sort.sort.word}};
    if (!sort.sort.second.empty()) row["second_word"] = sort.sort.second;
    row["is"] = kind_word(sort.is);
    row["kind"] = kind_word(sort.kind);
    row["messages"] = sort.sort.records.size();
    row["sure"] = word_of(sort.sure);
    row["why"] = sort.why;
    row["example"] = proposal.examples[i];
    out.push_back(std::move(row));
  }
  return out;
}

OrderedJson trial_as_json(const Trial& trial) {
  return {{"messages", trial.messages},
          {"ticks", trial.ticks},
          {"ignored", trial.ignored},
          {"unknown", trial.unknown},
          {"malformed", trial.malformed},
          {"broken", trial.broken},
          {"otherwise", trial.otherwise},
          {"understood", trial.understood()},
          {"unknown_conditions", trial.unknown_conditions}};
}

void add_units_as_json(const FeedSettings& s, OrderedJson& out) {
  if (s.columns) out["columns"] = true;
  if (s.packing != "none") out["packing"] = s.packing;
  if (s.encoding != "json") out["encoding"] = s.encoding;
  if (!s.time_zone.empty()) out["time_zone"] = s.time_zone;
  if (s.price_decimals != 0) out["price_decimals"] = s.price_decimals;
  if (s.lot_size != 1) out["lot_size"] = s.lot_size;
  if (s.volume_lot_size != 1) out["volume_lot_size"] = s.volume_lot_size;
  if (s.symbol_form != "{symbol}") out["symbol_form"] = s.symbol_form;
  if (!s.symbol_names.empty()) out["symbol_names"] = s.symbol_names;
  if (!s.symbol_words.empty()) out["symbol_words"] = s.symbol_words;
  if (s.conditions != "none") out["conditions"] = s.conditions;
  if (!s.status_words.empty()) out["status_words"] = s.status_words;
  if (!s.condition_words.empty()) out["condition_words"] = s.condition_words;
  if (!s.exchange_words.empty()) out["exchange_words"] = s.exchange_words;
}

/// A line for a person, `blanks` before it and more before what does not fit on it.
std::string line_of(const std::string& text, std::size_t blanks = 2) {
  return wrap(std::string(blanks, ' ') + one_line(text), kWidth, blanks + 2) + "\n";
}

void say_sort(const SortGuess& sort, const std::string& example, std::string& out) {
  std::string word = sort.sort.word.empty() ? "(no word)" : "\"" + sort.sort.word + "\"";
  if (!sort.sort.second.empty()) word += " \"" + sort.sort.second + "\"";
  std::string text = word + ": " + std::to_string(sort.sort.records.size()) +
                     (sort.sort.records.size() == 1 ? " message" : " messages") + ", " + std::string(kind_word(sort.is));
  if (sort.kind != sort.is) text += ", mapped to " + std::string(kind_word(sort.kind));
  out += line_of(text + " (" + std::string(word_of(sort.sure)) + ": " + sort.why + ")");
  out += "    " + clean_line(example, 76) + "\n";
  for (const auto& [field, guess] : sort.fields) {
    if (!is_market(sort.kind)) continue;
    char row[64];
    std::snprintf(row, sizeof row, "    %-11s %-14s ", field_name(field).c_str(), guess.pointer.c_str());
    out += wrap(std::string(row) + std::string(word_of(guess.sure)) + ": " + one_line(guess.why), kWidth, 31) + "\n";
  }
}

std::string say_trial(const Trial& trial) {
  char share[32];
  std::snprintf(share, sizeof share, "%.0f %%", trial.understood() * 100);
  std::string out = "Tried on the sample: " + std::to_string(trial.messages) + " messages, " +
                    std::to_string(trial.ticks) + " used, " + std::to_string(trial.ignored) + " passed over by a rule, " +
                    std::to_string(trial.unknown) + " of unknown kind, " +
                    std::to_string(trial.malformed + trial.broken) + " not readable; " + share + " understood.";
  if (trial.otherwise > 0) out += " " + std::to_string(trial.otherwise) + " came to something else than was guessed.";
  out = wrap(out, kWidth, 2) + "\n";
  if ((trial.malformed > 0 || trial.broken > 0) && !trial.problem.empty())
    out += line_of("not readable, the last: " + trial.problem);
  return out;
}

}  // namespace

std::string feed_as_toml(const Proposal& proposal) {
  std::string out = "# Mapped by `brimwatch feeds map` from a sample: look at what is not marked as sure.\n";
  for (const std::string& question : proposal.asked) out += "# asked: " + one_line(question) + "\n";
  out += "[[feed]]\n";
  add_address(proposal.settings, out);
  add_units(proposal, out);
  add_kinds(proposal.settings, out);
  out += "\n[feed.fields]\n";
  add_fields(proposal, proposal.settings.fields, out);
  for (const auto& [kind, map] : proposal.settings.fields_of) {
    out += "\n[feed.fields_of." + kind + "]\n";
    add_fields(proposal, map, out);
  }
  return out;
}

std::string proposal_as_json(const Proposal& proposal) {
  const FeedSettings& s = proposal.settings;
  OrderedJson out{{"usable", proposal.usable},           {"kind", s.kind},
                  {"fields", fields_as_json(s.fields)},  {"kind_words", s.kind_words},
                  {"time_format", s.fields.time_format}, {"default_kind", s.default_kind}};
  OrderedJson of = OrderedJson::object();
  for (const auto& [kind, map] : s.fields_of) {
    of[kind] = fields_as_json(map);
    if (!map.time_format.empty()) of[kind]["time_format"] = map.time_format;
  }
  out["fields_of"] = of;
  out["rules"] = OrderedJson::array();
  for (const MessageRule& rule : s.rules)
    out["rules"].push_back({{"at", rule.at}, {"equals", rule.equals}, {"kind", rule.kind}});
  add_units_as_json(s, out);
  out["guesses"] = guesses_as_json(proposal);
  out["sorts"] = sorts_as_json(proposal);
  out["asked"] = proposal.asked;
  out["trial"] = trial_as_json(proposal.trial);
  out["toml"] = feed_as_toml(proposal);
  return json_text(out);
}

std::string proposal_as_text(const Proposal& proposal) {
  std::string out = "Sorts of messages, and what is what in them:\n";
  for (std::size_t i = 0; i < proposal.sorts.size(); ++i) say_sort(proposal.sorts[i], proposal.examples[i], out);
  if (!proposal.keys.empty()) out += "Units and words:\n";
  for (const KeyGuess& key : proposal.keys)
    out += line_of(key.key + " = " + key.value + " (" + std::string(word_of(key.sure)) + ": " + key.why + ")");
  if (!proposal.asked.empty()) out += "To be answered by you, or by the source's description:\n";
  for (const std::string& question : proposal.asked) out += line_of(question);
  if (proposal.usable) return out + say_trial(proposal.trial);
  if (proposal.trial.broken > 0)
    out += line_of(std::to_string(proposal.trial.broken) +
                   " of the sample could not be read, the first: " + proposal.trial.problem);
  return out;
}

}  // namespace brimwatch
