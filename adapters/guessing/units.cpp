#include "adapters/guessing/units.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "adapters/guessing/names.h"
#include "adapters/guessing/scale.h"
#include "adapters/guessing/topics.h"

namespace brimwatch {
namespace {

constexpr std::string_view kSeparators = ".:/@|-_#";
constexpr int kMinutesADay = 24 * 60;

/// Every value at a field of a kind, in the order of the sample.
std::vector<const Leaf*> values_of(const std::vector<Record>& records, const SortGuess& guess, Field field) {
  std::vector<const Leaf*> out;
  const auto found = guess.fields.find(field);
  if (found == guess.fields.end()) return out;
  for (const std::size_t i : guess.sort.records) {
    const Leaf* leaf = records[i].find(found->second.pointer);
    if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) out.push_back(leaf);
  }
  return out;
}

class Units {
 public:
  Units(const std::vector<Record>& records, Proposal& into) : records_(records), into_(into), settings_(into.settings) {}

  void find() {
    find_times();
    find_zone();
    find_price_scale();
    find_lots();
    find_symbol_form();
    find_status_words();
    find_conditions();
    find_exchanges();
    find_sequence();
  }

 private:
  void note(const std::string& key, const std::string& value, Sure sure, const std::string& why) {
    into_.keys.push_back({key, value, sure, why});
  }
  void ask(const std::string& what) { into_.asked.push_back(what); }

  template <typename Take>
  void each_market(Take take) const {
    for (const SortGuess& guess : into_.sorts) {
      if (is_market(guess.kind)) take(guess);
    }
  }

  static const char* word_for(TimeFormat format) {
    constexpr const char* kWords[] = {"rfc3339", "s", "ms", "us", "ns"};
    return kWords[static_cast<std::size_t>(format)];
  }

  void find_times() {
    const MessageKind main = main_kind(into_.sorts);
    std::string common;
    each_market([&](const SortGuess& guess) {
      PointerColumn column;
      column.cells = values_of(records_, guess, Field::time);
      measure(column);
      if (!column.time) return;
      zoneless_ = zoneless_ || column.zoneless;
      const std::string word = word_for(*column.time);
      if (guess.kind == main || common.empty()) common = common.empty() ? word : common;
      formats_[guess.kind] = word;
    });
    if (formats_.count(main) != 0) common = formats_[main];
    settings_.fields.time_format = common;
    if (!common.empty()) note("time_format", common, Sure::sure, "no other unit gives times of these years");
    for (const auto& [kind, word] : formats_) {
      if (word != common) settings_.fields_of[std::string(kind_word(kind))].time_format = word;
    }
  }

  /// Minutes of the day, as written.
  void find_zone() {
    if (!zoneless_) return;
    int least = kMinutesADay, most = 0;
    each_market([&](const SortGuess& guess) {
      for (const Leaf* leaf : values_of(records_, guess, Field::time)) {
        const auto time = time_in(leaf->text, TimeFormat::rfc3339);
        if (!time) continue;
        const int minute = static_cast<int>(time->ns % kDayNanos / kMinute);
        least = std::min(least, minute);
        most = std::max(most, minute);
      }
    });
    constexpr int kOpenInUtc = 13 * 60 + 30, kCloseInNewYork = 16 * 60;
    const bool new_york = least < kOpenInUtc && most < 20 * 60, utc = most >= kCloseInNewYork && least >= kOpenInUtc;
    settings_.time_zone = utc ? "Etc/UTC" : "America/New_York";
    note("time_zone", settings_.time_zone, Sure::likely,
         new_york ? "times name no zone; as New York's clock they lie in a trading day"
         : utc    ? "times name no zone; as UTC they lie in a trading day"
                  : "times name no zone");
    ask("time_zone: the times name no zone; is it " + settings_.time_zone + "? Compare one with the clock");
  }

  void find_price_scale() {
    const ScaleGuess scale = guess_scale(records_, into_.sorts);
    settings_.price_decimals = scale.decimals;
    if (scale.decimals > 0) note("price_decimals", std::to_string(scale.decimals), scale.sure, scale.why);
    if (!scale.question.empty()) ask(scale.question);
  }

  static bool speaks_of_lots(const SortGuess& guess, Field field) {
    const auto found = guess.fields.find(field);
    if (found == guess.fields.end()) return false;
    const auto words = words_in(found->second.name.substr(found->second.name.rfind('/') + 1));
    return std::any_of(words.begin(), words.end(), [](const std::string& w) { return w == "lot" || w == "lots"; });
  }

  [[nodiscard]] std::optional<int> told_lot() const {
    for (const Record& record : records_) {
      for (const auto& [pointer, leaf] : record.leaves) {
        const auto words = words_in(pointer.substr(pointer.rfind('/') + 1));
        const bool lot = words.size() >= 2 && std::find(words.begin(), words.end(), "lot") != words.end() &&
                         std::find(words.begin(), words.end(), "size") != words.end();
        const auto number = lot ? number_in(leaf.text) : std::nullopt;
        if (number && (*number == 10 || *number == 100 || *number == 1000)) return static_cast<int>(*number);
      }
    }
    return std::nullopt;
  }

  void find_lots() {
    const SortGuess* trades = sort_of(into_.sorts, MessageKind::trade);
    if (trades == nullptr || trades->fields.count(Field::size) == 0) return;
    const double factor = rise_factor(*trades);
    const bool lots = speaks_of_lots(*trades, Field::size);
    if (factor >= 10) {
      return set_lots(static_cast<int>(factor), 1, Sure::sure,
                      "the day's volume rises by " + std::to_string(static_cast<int>(factor)) + " times each size");
    }
    if (factor > 0 && factor < 1) {
      settings_.volume_lot_size = static_cast<int>(std::lround(1 / factor));
      return note("volume_lot_size", std::to_string(settings_.volume_lot_size), Sure::sure,
                  "the day's volume rises by a part of each size");
    }
    if (!lots) return ask_for_lots(*trades);
    const auto told = told_lot();
    set_lots(
        told.value_or(100), factor == 1 ? told.value_or(100) : 1, told ? Sure::sure : Sure::likely,
        told ? "the source says how many shares a lot has" : "named so; a lot is a hundred shares (common practice)");
    if (!told) ask("lot_size: sizes are called lots; are they of 100 shares?");
  }

  /// By how much the day's volume rises for each share of a trade's size; 0: not known.
  [[nodiscard]] double rise_factor(const SortGuess& trades) const {
    const auto volume = trades.fields.find(Field::day_volume), size = trades.fields.find(Field::size);
    if (volume == trades.fields.end()) return 0;
    std::vector<const Record*> of_sort;
    for (const std::size_t i : trades.sort.records) of_sort.push_back(&records_[i]);
    Table table = table_of(of_sort);
    if (const auto symbol = trades.fields.find(Field::symbol); symbol != trades.fields.end())
      group_by(table, symbol->second.pointer);
    const PointerColumn* total = table.find(volume->second.pointer);
    const PointerColumn* each = table.find(size->second.pointer);
    if (total == nullptr || each == nullptr) return 0;
    for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.001, 0.1}) {
      if (rises_by(table, *total, *each, factor) >= 0.7) return factor;
    }
    for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.001, 0.1}) {
      if (rises_in_all_by(table, *total, *each, factor)) return factor;
    }
    return 0;
  }

  void set_lots(int lot, int volume_lot, Sure sure, const std::string& why) {
    settings_.lot_size = lot;
    settings_.volume_lot_size = volume_lot;
    note("lot_size", std::to_string(lot), sure, why);
    if (volume_lot > 1) note("volume_lot_size", std::to_string(volume_lot), sure, "rises by the sizes, which are lots");
  }

  void ask_for_lots(const SortGuess& trades) {
    const auto sizes = values_of(records_, trades, Field::size);
    const bool small =
        std::all_of(sizes.begin(), sizes.end(), [](const Leaf* leaf) { return number_in(leaf->text).value_or(0) <= 60; });
    if (small && sizes.size() >= 6 && trades.fields.count(Field::day_volume) == 0)
      ask("lot_size: all sizes are small; are they shares, or lots of 100?");
  }

  struct Parts {
    std::string before, ticker, after;
  };

  /// A text of several parts: which of them is the ticker. `many`: parts that vary.
  static std::optional<Parts> parts_of(const std::string& text, const std::set<std::string>& affixes) {
    const std::size_t first = text.find_first_of(kSeparators), last = text.find_last_of(kSeparators);
    if (first == text.npos) return std::nullopt;
    if (affixes.count(text.substr(0, first + 1)) != 0)
      return Parts{text.substr(0, first + 1), text.substr(first + 1), ""};
    if (affixes.count(text.substr(last)) != 0) return Parts{"", text.substr(0, last), text.substr(last)};
    return std::nullopt;
  }

  [[nodiscard]] std::set<std::string> symbol_texts() const {
    std::set<std::string> out;
    each_market([&](const SortGuess& guess) {
      for (const Leaf* leaf : values_of(records_, guess, Field::symbol)) out.insert(leaf->text);
    });
    return out;
  }

  /// What stands before or behind in nearly every symbol, and is no class of a share ("KLV.B").
  static std::set<std::string> affixes_of(const std::set<std::string>& texts) {
    std::map<std::string, std::set<std::string>> counts;
    for (const std::string& text : texts) {
      const std::size_t first = text.find_first_of(kSeparators), last = text.find_last_of(kSeparators);
      if (first == text.npos || first == 0 || last + 1 == text.size()) continue;
      counts[text.substr(0, first + 1)].insert(text.substr(first + 1));
      counts[text.substr(last)].insert(text.substr(0, last));
    }
    std::set<std::string> out;
    for (const auto& [affix, rest] : counts) {
      const std::string word = affix.back() == '.' || affix.find_first_of(kSeparators) != 0
                                   ? affix.substr(0, affix.size() - 1)
                                   : affix.substr(1);
      const bool small = std::any_of(word.begin(), word.end(), [](unsigned char c) { return std::islower(c) != 0; });
      const bool all = rest.size() == texts.size() && texts.size() > 1;
      const bool known =
          kind_of_word(word).has_value() || word == "US" || word == "USA" || (word.size() == 4 && word[0] == 'X');
      if (known || small || all) out.insert(affix);
    }
    return out;
  }

  /// Symbols among other words, by what is left over.
  bool find_topic_form_in(const std::set<std::string>& texts) {
    std::map<std::string, std::size_t> counts;
    for (const std::string& text : texts) counts[text] = 2;
    const auto form = find_topic_form(counts);
    if (!form) return false;
    std::vector<TopicParts> all;
    std::set<std::string> forms;
    for (const std::string& text : texts) {
      auto parts = form->parts(text);
      if (!parts) return false;
      forms.insert(parts->before + "{symbol}" + parts->after);
      all.push_back(std::move(*parts));
    }
    const auto found = symbol_form_of(all);
    if (!found) {
      for (const TopicParts& parts : all)
        settings_.symbol_words[parts.before + parts.symbol + parts.after] = parts.symbol;
      note("symbol_words", "those of the sample", Sure::likely, "no symbol_form reads them all");
      ask("symbol_words: each text with a symbol in it needs a line, such as \"" + *texts.begin() + "\" = \"" +
          all.front().symbol + "\"; those of the sample have one");
      return true;
    }
    settings_.symbol_form = *found;
    if (found->find('*') != std::string::npos) settings_.subscribe_form.assign(forms.begin(), forms.end());
    note("symbol_form", *found, Sure::sure, "every symbol is written so");
    return true;
  }

  void find_symbol_form() {
    const auto texts = symbol_texts();
    if (texts.empty() || find_topic_form_in(texts)) return;
    const auto affixes = affixes_of(texts);
    std::set<std::string> before, after, forms;
    for (const std::string& text : texts) {
      const auto parts = parts_of(text, affixes);
      if (!parts) return find_small_letters(texts);
      before.insert(parts->before);
      after.insert(parts->after);
      forms.insert(parts->before + "{symbol}" + parts->after);
    }
    settings_.symbol_form = affix_of(before, true) + "{symbol}" + affix_of(after, false);
    if (settings_.symbol_form.find('*') != std::string::npos) settings_.subscribe_form.assign(forms.begin(), forms.end());
    note("symbol_form", settings_.symbol_form, texts.size() > 1 ? Sure::sure : Sure::likely,
         "every symbol is written so");
  }

  static std::string affix_of(const std::set<std::string>& found, bool front) {
    if (found.size() == 1) return *found.begin();
    const char mark = front ? found.rbegin()->back() : found.rbegin()->front();
    return front ? std::string("*") + mark : std::string(1, mark) + "*";
  }

  void find_small_letters(const std::set<std::string>& texts) {
    const bool small = std::all_of(texts.begin(), texts.end(), [](const std::string& text) {
      return std::none_of(text.begin(), text.end(), [](unsigned char c) { return std::isupper(c) != 0; }) &&
             std::any_of(text.begin(), text.end(), [](unsigned char c) { return std::islower(c) != 0; });
    });
    if (!small) return ask_for_numbers(texts);
    for (const std::string& text : texts) {
      std::string ours = text;
      std::transform(ours.begin(), ours.end(), ours.begin(),
                     [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
      settings_.symbol_names[ours] = text;
    }
    note("symbol_names", "those of the sample", Sure::sure, "the source writes symbols in small letters");
    ask("symbol_names: the source writes symbols in small letters; each that you watch needs a line, KLVN = \"klvn\"");
  }

  void ask_for_numbers(const std::set<std::string>& texts) {
    const bool numbers =
        std::all_of(texts.begin(), texts.end(), [](const std::string& text) { return number_in(text).has_value(); });
    if (numbers && sort_of(into_.sorts, MessageKind::naming) == nullptr)
      ask("symbol_words: symbols are numbers, and no message of the sample says which symbol is which");
  }

  void find_status_words() {
    for (const SortGuess& guess : into_.sorts) {
      if (guess.kind != MessageKind::status) continue;
      const auto found = guess.fields.find(Field::status);
      for (const Leaf* leaf : values_of(records_, guess, Field::status)) add_status(leaf->text, found->second.pointer);
    }
  }

  void add_status(const std::string& word, const std::string& pointer) {
    if (settings_.status_words.count(word) != 0 || asked_status_.count(word) != 0) return;
    const std::string_view ours = status_of_word(word, pointer);
    if (ours.empty()) {
      asked_status_.insert(word);
      return ask("status_words: what does \"" + word + "\" say: trading, halted, paused or quotation?");
    }
    settings_.status_words[word] = ours;
    note("status_words." + word, std::string(ours), word.size() > 1 ? Sure::sure : Sure::likely,
         word.size() > 1 ? "the word says so" : "the letter that the word begins with");
  }

  /// Conditions of the trades as single codes; `small`: whether every trade with the code is of fewer than 100 shares.
  struct Code {
    std::size_t count = 0;
    bool small = true;
  };

  [[nodiscard]] std::map<std::string, Code> condition_codes() const {
    std::map<std::string, Code> out;
    for (const SortGuess& guess : into_.sorts) {
      const auto conditions = guess.fields.find(Field::conditions), size = guess.fields.find(Field::size);
      if (guess.kind != MessageKind::trade || conditions == guess.fields.end()) continue;
      for (const std::size_t i : guess.sort.records) {
        const Leaf* leaf = records_[i].find(conditions->second.pointer);
        if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
        const Leaf* shares = size != guess.fields.end() ? records_[i].find(size->second.pointer) : nullptr;
        const bool small = shares != nullptr && number_in(shares->text).value_or(1e9) * settings_.lot_size < 100;
        for (const std::string& code : leaf->kind == Leaf::Kind::list ? leaf->items : words_apart(leaf->text)) {
          Code& seen = out[code];
          ++seen.count;
          seen.small = seen.small && small;
        }
      }
    }
    return out;
  }

  static std::vector<std::string> words_apart(const std::string& text) {
    std::vector<std::string> out;
    if (condition_of_word(text)) return {text};
    std::string part;
    for (const char c : text + ",") {
      if (c != ',' && c != ' ') part += c;
      else if (!part.empty()) out.push_back(std::exchange(part, {}));
    }
    return out;
  }

  void find_conditions() {
    const auto codes = condition_codes();
    if (codes.empty()) return;
    constexpr std::string_view kTapeCodes = "@ABCDEFGHIKLMNOPQRSTUVWXYZ1456789";
    const bool letters = std::all_of(codes.begin(), codes.end(), [&](const auto& row) {
      return std::all_of(row.first.begin(), row.first.end(),
                         [&](char c) { return kTapeCodes.find(c) != std::string_view::npos; }) &&
             row.first.size() <= 4;
    });
    const auto odd = codes.find("I");
    const bool digits =
        std::all_of(codes.begin(), codes.end(), [](const auto& row) { return number_in(row.first).has_value(); });
    if (letters && !digits) {
      const bool regular = codes.count("@") != 0, odd_proves = odd != codes.end() && odd->second.small;
      settings_.conditions = "utdf";
      note("conditions", "utdf", regular || odd_proves ? Sure::sure : Sure::likely,
           regular      ? "letters of the tape, \"@\" for a regular trade"
           : odd_proves ? "letters of the tape: every \"I\" is an odd lot"
                        : "letters as the tape has them");
      if (!regular && !odd_proves) {
        ask("conditions: the sale conditions are letters; are they the tape's (\"utdf\" or \"cts\"), or the source's own "
            "(condition_words)?");
      }
      return;
    }
    for (const auto& [code, seen] : codes) add_condition(code);
  }

  void add_condition(const std::string& code) {
    if (code.empty()) return;
    const auto ours = condition_of_word(code);
    if (!ours) {
      return ask("condition_words: which condition of the tape is \"" + code +
                 "\"? Until it is mapped, such a trade adds volume and moves no price");
    }
    settings_.condition_words[code] = *ours;
    note("condition_words." + code, std::string(*ours), Sure::sure, "the condition's name");
  }

  /// Participant codes of the consolidated tapes by market identifier code (ISO 10383); from memory.
  static std::string_view participant_of(const std::string& mic) {
    constexpr std::pair<std::string_view, std::string_view> kRows[] = {
        {"XNYS", "N"}, {"XNAS", "Q"}, {"ARCX", "P"}, {"XASE", "A"}, {"XBOS", "B"}, {"XCIS", "C"},
        {"FINR", "D"}, {"XADF", "D"}, {"EDGA", "J"}, {"EDGX", "K"}, {"XCHI", "M"}, {"MEMX", "U"},
        {"IEXG", "V"}, {"XPHL", "X"}, {"BATY", "Y"}, {"BATS", "Z"}};
    for (const auto& [name, code] : kRows) {
      if (name == mic) return code;
    }
    return {};
  }

  void find_exchanges() {
    std::set<std::string> words;
    each_market([&](const SortGuess& guess) {
      for (const Leaf* leaf : values_of(records_, guess, Field::exchange)) words.insert(leaf->text);
    });
    std::string unknown;
    for (const std::string& word : words) {
      const std::string_view code = participant_of(word);
      const bool letter = word.size() == 1 && std::isalpha(static_cast<unsigned char>(word[0])) != 0;
      if (code.empty() && !letter && !word.empty()) unknown += (unknown.empty() ? "\"" : ", \"") + word + "\"";
      if (code.empty()) continue;
      settings_.exchange_words[word] = code;
      note("exchange_words." + word, std::string(code), Sure::likely, "the market's code");
    }
    if (!unknown.empty())
      ask("exchange_words: which letter of the tape stands for " + unknown +
          "? Until it is mapped, the trade's exchange is "
          "not known");
  }

  /// A number that counts every message of the sample up by one, or every frame: a frame's stands around all its
  /// messages, and at the top of frames that hold none.
  void find_sequence() {
    std::set<std::string> pointers;
    for (const Record& record : records_) {
      for (const auto& [pointer, leaf] : record.leaves) pointers.insert(pointer);
    }
    for (const std::string& pointer : pointers) {
      if (name_speaks_for(Field::sequence, pointer) < 0.65 || is_taken(pointer)) continue;
      if (pointer.starts_with('/') && pointers.count("frame:" + pointer) != 0) continue;
      Counted counted(records_.size());
      for (const Record& record : records_) counted.add(record, pointer);
      const PointerColumn column = counted.column();
      if (column.numeric < 1 || column.time || column.given < 6 || 2 * counted.with < records_.size()) continue;
      if (column.by_one < 0.98) {
        ask("fields.sequence: " + pointer +
            " is named like a number that counts messages, and has gaps in the sample; it is left out");
        return;
      }
      settings_.fields.sequence = pointer;
      return note("fields.sequence", pointer, Sure::sure, "counts every message up by one");
    }
  }

  /// Values of a counter, of each frame one where they stand around its messages.
  struct Counted {
    explicit Counted(std::size_t most) { cells.reserve(most); }

    void add(const Record& record, const std::string& pointer) {
      const bool around = pointer.starts_with("frame:");
      const Leaf* leaf = record.find(pointer);
      if (leaf == nullptr && around) leaf = record.find(std::string_view(pointer).substr(6));
      if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) return;
      ++with;
      if (around && frame == record.frame) return;
      frame = record.frame;
      cells.push_back(leaf);
    }
    [[nodiscard]] PointerColumn column() const {
      PointerColumn out;
      out.cells = cells;
      measure(out);
      return out;
    }

    std::vector<const Leaf*> cells;
    std::size_t with = 0;  ///< messages that have it
    std::optional<std::size_t> frame;
  };

  [[nodiscard]] bool is_taken(const std::string& pointer) const {
    return std::any_of(into_.sorts.begin(), into_.sorts.end(), [&](const SortGuess& guess) {
      return std::any_of(guess.fields.begin(), guess.fields.end(),
                         [&](const auto& row) { return row.second.pointer == pointer; });
    });
  }

  const std::vector<Record>& records_;
  Proposal& into_;
  FeedSettings& settings_;
  std::map<MessageKind, std::string> formats_;
  std::set<std::string> asked_status_;
  bool zoneless_ = false;
};

}  // namespace

void find_units(const std::vector<Record>& records, Proposal& into) { Units(records, into).find(); }

}  // namespace brimwatch
