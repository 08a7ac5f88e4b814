#include "adapters/guessing/bars.h"

#include <algorithm>
#include <map>
#include <optional>

#include "adapters/guessing/shape_of_value.h"

namespace brimwatch {
namespace {

const Leaf* leaf_at(const Record& record, const SortGuess& guess, Field field) {
  const auto found = guess.fields.find(field);
  return found == guess.fields.end() ? nullptr : record.find(found->second.pointer);
}

std::optional<TimeFormat> time_format_in(const std::vector<Record>& records, const SortGuess& guess) {
  PointerColumn column;
  for (const std::size_t i : guess.sort.records) column.cells.push_back(leaf_at(records[i], guess, Field::time));
  measure(column);
  return column.time;
}

using BarPlace = std::pair<std::string, std::int64_t>;  ///< its symbol and its time

/// Of each symbol and time the bars in the order of the sample.
std::map<BarPlace, std::vector<VolumeAt>> by_place(const std::vector<VolumeAt>& bars) {
  std::map<BarPlace, std::vector<VolumeAt>> out;
  for (const VolumeAt& bar : bars) out[{bar.symbol, bar.ns}].push_back(bar);
  return out;
}

/// Splits the bars of one sort.
class Splitter {
 public:
  Splitter(const std::vector<Record>& records, SortGuess& guess)
      : records_(records), guess_(guess), bars_(parts_of_sort(records, guess)), places_(by_place(bars_)) {}

  /// The sorts that are split off.
  std::vector<SortGuess> split() {
    constexpr std::size_t kProof = 5;
    const std::size_t again = bars_.size() - places_.size();
    std::vector<SortGuess> out;
    if (again < kProof || 10 * again < bars_.size()) return out;
    for (const auto& [pointer, values] : candidates()) {
      if (values.size() == 2 && tells_growing(pointer, out)) return out;
      if (tells_lengths(pointer, values, out)) return out;
    }
    if (are_growing()) {
      guess_.sure = Sure::likely;
      guess_.why += "; but each comes again and again while it grows";
      guess_.question =
          "each bar comes again while its volume grows, and would count each time; which value says that a bar is "
          "closed? Pass over the others by a rule";
    }
    return out;
  }

 private:
  /// Pointers of few values, with these.
  [[nodiscard]] std::map<std::string, std::set<std::string>> candidates() const {
    constexpr std::size_t kValuesMost = 6;
    std::map<std::string, std::set<std::string>> out;
    std::map<std::string, std::size_t> given;
    for (const std::size_t i : guess_.sort.records) {
      for (const auto& [pointer, leaf] : records_[i].leaves) {
        if (leaf.kind == Leaf::Kind::list || leaf.kind == Leaf::Kind::nothing) continue;
        ++given[pointer];
        if (auto& values = out[pointer]; values.size() <= kValuesMost) values.insert(leaf.text);
      }
    }
    std::erase_if(out, [&](const auto& row) {
      const bool field = std::any_of(guess_.fields.begin(), guess_.fields.end(),
                                     [&](const auto& found) { return found.second.pointer == row.first; });
      return field || row.second.size() < 2 || row.second.size() > kValuesMost ||
             given[row.first] < guess_.sort.records.size();
    });
    return out;
  }

  [[nodiscard]] const std::string& value_of(const VolumeAt& bar, const std::string& pointer) const {
    return records_[bar.record].find(pointer)->text;
  }

  /// The last bar of each place but the last of its symbol, which may come again still.
  [[nodiscard]] std::vector<const std::vector<VolumeAt>*> complete() const {
    std::vector<const std::vector<VolumeAt>*> out;
    for (auto one = places_.begin(); one != places_.end(); ++one) {
      const auto next = std::next(one);
      if (next != places_.end() && next->first.first == one->first.first) out.push_back(&one->second);
    }
    return out;
  }

  [[nodiscard]] bool are_growing() const {
    std::size_t steps = 0, growing = 0;
    for (const auto& [place, bars] : places_) {
      for (std::size_t i = 1; i < bars.size(); ++i) {
        ++steps;
        growing += bars[i].shares >= bars[i - 1].shares;
      }
    }
    return 20 * growing >= 19 * steps;
  }

  bool tells_growing(const std::string& pointer, std::vector<SortGuess>& out) {
    std::set<std::string> last, before;
    for (const auto* bars : complete()) {
      last.insert(value_of(bars->back(), pointer));
      for (std::size_t i = 0; i + 1 < bars->size(); ++i) before.insert(value_of((*bars)[i], pointer));
    }
    if (!are_growing() || last.size() != 1 || before.size() != 1 || last == before) return false;
    out.push_back(take(pointer, *before.begin()));
    out.back().kind = MessageKind::ignore;
    out.back().why = "bars that grow still: the last of each has another value at " + pointer;
    return true;
  }

  /// Each value has its own step, and under one value no bar comes twice.
  bool tells_lengths(const std::string& pointer, const std::set<std::string>& values, std::vector<SortGuess>& out) {
    std::map<std::int64_t, std::string> by_length;
    for (const std::string& value : values) {
      std::vector<VolumeAt> bars;
      for (const VolumeAt& bar : bars_) {
        if (value_of(bar, pointer) == value) bars.push_back(bar);
      }
      const std::int64_t length = length_of_bars(bars);
      if (length == 0 || by_place(bars).size() != bars.size() || !by_length.emplace(length, value).second) return false;
    }
    by_length.erase(by_length.begin());
    for (const auto& [length, value] : by_length) {
      out.push_back(take(pointer, value));
      out.back().why = "bars of " + std::to_string(length / kSecond) + " seconds: " + pointer + " says so";
    }
    return true;
  }

  /// Takes the messages with the value out of the sort.
  SortGuess take(const std::string& pointer, const std::string& value) {
    SortGuess out = guess_;
    const auto has_value = [&](std::size_t i) { return records_[i].find(pointer)->text == value; };
    std::erase_if(out.sort.records, [&](std::size_t i) { return !has_value(i); });
    std::erase_if(guess_.sort.records, has_value);
    out.at = pointer;
    out.equals = value;
    return out;
  }

  const std::vector<Record>& records_;
  SortGuess& guess_;
  const std::vector<VolumeAt> bars_;
  const std::map<BarPlace, std::vector<VolumeAt>> places_;
};

}  // namespace

std::vector<VolumeAt> parts_of_sort(const std::vector<Record>& records, const SortGuess& guess) {
  std::vector<VolumeAt> out;
  const auto format = time_format_in(records, guess);
  if (!format) return out;
  for (const std::size_t i : guess.sort.records) {
    const Leaf* symbol = leaf_at(records[i], guess, Field::symbol);
    const Leaf* size = leaf_at(records[i], guess, Field::size);
    const Leaf* price = leaf_at(records[i], guess, Field::price);
    const Leaf* when = leaf_at(records[i], guess, Field::time);
    const auto time = when == nullptr ? std::nullopt : time_in(when->text, *format);
    const auto shares = size == nullptr ? std::nullopt : number_in(size->text);
    if (symbol == nullptr || !time || !shares) continue;
    out.push_back({symbol->text, time->ns, *shares, price == nullptr ? 0 : number_in(price->text).value_or(0), i});
  }
  return out;
}

std::set<std::string> symbols_of_parts(const std::vector<VolumeAt>& parts) {
  std::set<std::string> out;
  for (const VolumeAt& part : parts) out.insert(part.symbol);
  return out;
}

std::int64_t length_of_bars(const std::vector<VolumeAt>& bars) {
  std::set<std::int64_t> times;
  for (const VolumeAt& bar : bars) times.insert(bar.ns);
  std::int64_t out = 0, last = 0;
  for (const std::int64_t time : times) {
    if (last != 0 && time - last >= kSecond && (out == 0 || time - last < out)) out = time - last;
    last = time;
  }
  return out;
}

void split_bars(const std::vector<Record>& records, std::vector<SortGuess>& guesses) {
  for (std::size_t i = 0, count = guesses.size(); i < count; ++i) {
    if (guesses[i].kind != MessageKind::bar) continue;
    auto more = Splitter(records, guesses[i]).split();
    guesses.insert(guesses.end(), more.begin(), more.end());
  }
}

}  // namespace brimwatch
