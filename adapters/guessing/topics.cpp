#include "adapters/guessing/topics.h"

#include <algorithm>
#include <cctype>
#include <set>

#include "adapters/feeds/decoding/message.h"
#include "adapters/guessing/names.h"
#include "adapters/guessing/shape_of_value.h"

namespace brimwatch {
namespace {

constexpr std::size_t kTopicLongest = 120, kSymbolMost = 12, kWordsLeftMost = 12, kTextsMost = 4'000, kPartsMost = 12;

std::vector<std::string> split_at(const std::string& text, char separator) {
  std::vector<std::string> out(1);
  for (const char c : text) {
    if (c == separator) out.emplace_back();
    else out.back() += c;
  }
  return out;
}

std::string join_parts(const std::vector<std::string>& parts, std::size_t first, std::size_t last, char separator) {
  std::string out;
  for (std::size_t i = first; i < last; ++i) out += (i > first ? std::string(1, separator) : "") + parts[i];
  return out;
}

bool has_small_letter(const std::string& text) {
  return std::any_of(text.begin(), text.end(), [](unsigned char c) { return std::islower(c) != 0; });
}

bool is_like_ticker(const std::string& text) {
  return text.size() <= kSymbolMost && looks_like_symbol(text) && std::isalpha(static_cast<unsigned char>(text[0])) != 0;
}

/// What a form makes of the texts.
struct TopicFit {
  std::map<std::string, std::set<std::string>> symbols_of;  ///< by what is left over
  std::set<std::string> symbols;
  std::size_t read = 0, words = 0, small = 0;

  void add(const TopicParts& parts) {
    ++read;
    symbols_of[parts.before + "*" + parts.after].insert(parts.symbol);
    if (!symbols.insert(parts.symbol).second) return;
    words += kind_of_word(parts.symbol).has_value();
    small += has_small_letter(parts.symbol);
  }

  /// One text says nothing of another: each word left over has several symbols, or says the kind.
  [[nodiscard]] bool is_told() const {
    return std::all_of(symbols_of.begin(), symbols_of.end(),
                       [](const auto& row) { return row.second.size() > 1 || kind_of_word(row.first).has_value(); });
  }

  [[nodiscard]] double worth() const {
    const auto count = static_cast<double>(symbols.size()), left = static_cast<double>(symbols_of.size());
    const double filled = static_cast<double>(read) / (count * left);
    return 0.6 * filled + (count >= left ? 0.3 : 0) + (small == 0 ? 0.3 : 0) - static_cast<double>(words) / count -
           0.02 * left;
  }
};

std::optional<double> worth_of_form(const TopicForm& form, const std::map<std::string, std::size_t>& texts) {
  TopicFit fit;
  for (const auto& [text, count] : texts) {
    const auto parts = form.parts(text);
    if (parts && is_like_ticker(parts->symbol)) fit.add(*parts);
  }
  const bool most = 3 * fit.read >= 2 * texts.size() && texts.size() - fit.read <= 3;
  if (!most || fit.symbols.size() < 2 || fit.symbols_of.size() > kWordsLeftMost || !fit.is_told()) return std::nullopt;
  if (5 * fit.words > fit.symbols.size()) return std::nullopt;
  const bool kinds = std::all_of(fit.symbols_of.begin(), fit.symbols_of.end(),
                                 [](const auto& row) { return kind_of_word(row.first).has_value(); });
  if (5 * fit.small > fit.symbols.size() && !kinds) return std::nullopt;
  return fit.worth();
}

std::vector<TopicForm> forms_at(char separator, std::size_t parts) {
  using Counts = TopicForm::Counts;
  std::vector<TopicForm> out;
  for (std::size_t front = 0; front < parts; ++front) {
    out.push_back({separator, front, 0, Counts::from_front});
    out.push_back({separator, 0, front, Counts::from_back});
    for (std::size_t back = 0; front + back < parts; ++back) {
      if (front + back > 0) out.push_back({separator, front, back, Counts::both});
    }
  }
  return out;
}

std::string common_end(const std::set<std::string>& texts) {
  std::string out = *texts.begin();
  for (const std::string& text : texts) {
    while (!text.ends_with(out)) out.erase(0, 1);
  }
  return out;
}

std::string common_start(const std::set<std::string>& texts) {
  std::string out = *texts.begin();
  for (const std::string& text : texts) {
    while (!text.starts_with(out)) out.pop_back();
  }
  return out;
}

/// What can stand before {symbol}: the text itself where it is always the same, else a star and an end of it.
std::vector<std::string> ways_before(const std::set<std::string>& befores) {
  if (befores.size() == 1) return {*befores.begin()};
  const std::string end = common_end(befores);
  std::vector<std::string> out;
  for (std::size_t length = 1; length <= end.size(); ++length) out.push_back("*" + end.substr(end.size() - length));
  return out;
}

std::vector<std::string> ways_after(const std::set<std::string>& afters) {
  if (afters.size() == 1) return {*afters.begin()};
  const std::string start = common_start(afters);
  std::vector<std::string> out;
  for (std::size_t length = 1; length <= start.size(); ++length) out.push_back(start.substr(0, length) + "*");
  return out;
}

}  // namespace

std::optional<TopicParts> TopicForm::parts(const std::string& text) const {
  const auto all = split_at(text, separator);
  const std::size_t left = counts == Counts::both ? front + back : counts == Counts::from_front ? front : back;
  if (all.size() < 2 || all.size() <= left) return std::nullopt;
  const std::size_t first = counts == Counts::from_back ? all.size() - 1 - back : front;
  const std::size_t end = counts == Counts::both ? all.size() - back : first + 1;
  TopicParts out{join_parts(all, 0, first, separator), join_parts(all, first, end, separator),
                 join_parts(all, end, all.size(), separator)};
  if (first > 0) out.before += separator;
  if (end < all.size()) out.after.insert(out.after.begin(), separator);
  return out;
}

std::optional<TopicForm> find_topic_form(const std::map<std::string, std::size_t>& texts) {
  std::size_t all = 0;
  for (const auto& [text, count] : texts) all += count;
  const bool repeated = texts.size() <= 6 || 2 * all >= 3 * texts.size();
  if (texts.size() < 2 || texts.size() > kTextsMost || !repeated) return std::nullopt;
  std::optional<TopicForm> best;
  double most = 0;
  for (const char separator : kTopicSeparators) {
    std::size_t parts = 1;
    for (const auto& [text, count] : texts)
      parts = std::max(parts, static_cast<std::size_t>(std::count(text.begin(), text.end(), separator)) + 1);
    if (parts < 2 || parts > kPartsMost) continue;
    for (const TopicForm& form : forms_at(separator, parts)) {
      const auto worth = worth_of_form(form, texts);
      if (worth && *worth > most + 1e-9) best = form, most = *worth;
    }
  }
  return best;
}

Topics::Topics(const std::vector<Record>& records) {
  std::map<std::string, std::map<std::string, std::size_t>> texts;
  std::set<std::string> others;
  for (const Record& record : records) {
    for (const auto& [pointer, leaf] : record.leaves) {
      if (leaf.kind != Leaf::Kind::text) continue;
      auto& of_pointer = texts[pointer];
      if (leaf.text.size() > kTopicLongest || of_pointer.size() > kTextsMost) others.insert(pointer);
      else ++of_pointer[leaf.text];
    }
  }
  for (const auto& [pointer, found] : texts) {
    if (others.count(pointer) != 0) continue;
    if (const auto form = find_topic_form(found)) forms_.emplace(pointer, *form);
  }
}

std::optional<TopicParts> Topics::parts(const std::string& pointer, const Leaf& leaf) const {
  const auto form = forms_.find(pointer);
  if (form == forms_.end() || leaf.kind != Leaf::Kind::text) return std::nullopt;
  auto out = form->second.parts(leaf.text);
  return out && is_like_ticker(out->symbol) ? out : std::nullopt;
}

std::optional<std::string> symbol_form_of(const std::vector<TopicParts>& all) {
  std::set<std::string> befores, afters;
  for (const TopicParts& parts : all) befores.insert(parts.before), afters.insert(parts.after);
  if (all.empty()) return std::nullopt;
  for (const std::string& before : ways_before(befores)) {
    for (const std::string& after : ways_after(afters)) {
      Mapping mapping;
      mapping.symbol_prefix = before;
      mapping.symbol_suffix = after;
      const bool reads = std::all_of(all.begin(), all.end(), [&](const TopicParts& parts) {
        return symbol_of(mapping, parts.before + parts.symbol + parts.after) == parts.symbol;
      });
      if (reads) return before + "{symbol}" + after;
    }
  }
  return std::nullopt;
}

}  // namespace brimwatch
