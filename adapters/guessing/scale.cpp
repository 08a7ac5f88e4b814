#include "adapters/guessing/scale.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

constexpr int kDecimalsMost = 9;

/// What a source says of its scale, at one place.
struct ToldScale {
  std::optional<int> decimals;  ///< nothing: a step that decimals cannot say
  bool tick = false;            ///< the smallest step of a price, which need not be the unit that it is written in
  std::string pointer, text;
};

bool any_of_words(const std::vector<std::string>& words, std::string_view list) {
  return std::any_of(words.begin(), words.end(),
                     [&](const std::string& word) { return list.find(" " + word + " ") != std::string_view::npos; });
}

/// 4 for 10000 and for 0.0001.
std::optional<int> power_of_ten(double value) {
  const double exact = std::abs(std::log10(value));
  const int whole = static_cast<int>(std::lround(exact));
  if (whole < 1 || whole > kDecimalsMost || std::abs(exact - whole) > 1e-9) return std::nullopt;
  return whole;
}

std::optional<ToldScale> told_by(const std::string& pointer, const Leaf& leaf) {
  const auto number = leaf.kind == Leaf::Kind::truth ? std::nullopt : number_in(leaf.text);
  const auto words = words_in(pointer.substr(pointer.rfind('/') + 1));
  if (!number || *number == 0 || any_of_words(words, " qty quantity volume vol shares lot lots time timestamp ts "))
    return std::nullopt;
  const bool about_price = any_of_words(words, " price px prc ");
  const bool exponent = any_of_words(words, " scale decimals decimal precision exponent exp dp places digits ");
  const bool factor = any_of_words(words, " scale divisor denominator multiplier factor divider scaling ");
  const bool tick = any_of_words(words, " tick increment ") && (words.size() > 1 || *number < 1);
  if (!about_price && any_of_words(words, " size ") && !tick) return std::nullopt;
  ToldScale out{std::nullopt, tick, pointer, leaf.text};
  const double size = std::abs(*number);
  if (exponent && size <= kDecimalsMost && size == std::floor(size)) out.decimals = static_cast<int>(size);
  else if ((factor || tick) && size != 1) out.decimals = *number < 0 ? std::nullopt : power_of_ten(size);
  if (tick && size >= 1) return std::nullopt;
  return out.decimals || tick || (factor && *number > 1) ? std::optional(out) : std::nullopt;
}

/// The unit that a name ends with: priceE4, bidCents.
std::optional<int> unit_in(const std::string& pointer) {
  constexpr std::pair<std::string_view, int> kUnits[] = {
      {"cents", 2}, {"mills", 3}, {"micros", 6}, {"nanos", 9}, {"e2", 2},   {"e3", 3},    {"e4", 4},     {"e5", 5},
      {"e6", 6},    {"e8", 8},    {"e9", 9},     {"1e4", 4},   {"x100", 2}, {"x1000", 3}, {"x10000", 4}, {"1e6", 6}};
  const auto words = words_in(pointer.substr(pointer.rfind('/') + 1));
  if (words.size() < 2) return std::nullopt;
  for (const auto& [unit, decimals] : kUnits) {
    if (words.back() == unit) return decimals;
  }
  return std::nullopt;
}

class Scale {
 public:
  Scale(const std::vector<Record>& records, const std::vector<SortGuess>& sorts) : records_(records), sorts_(sorts) {
    for (const SortGuess& sort : sorts_) {
      if (is_market(sort.is)) take_prices(sort);
    }
    const std::set<double> distinct(prices_.begin(), prices_.end());
    distinct_ = distinct.size();
    if (!distinct.empty()) middle_ = *std::next(distinct.begin(), static_cast<std::ptrdiff_t>(distinct_ / 2));
    for (double step = 10; zeros_ < 7 && !prices_.empty(); ++zeros_, step *= 10) {
      if (!are_multiples_of(step)) break;
    }
  }

  ScaleGuess guess() {
    if (points_ || fractions_ || prices_.size() < 2) return {};
    const auto told = told_scales();
    if (!told.empty()) return by_what_is_told(told);
    constexpr std::size_t kProof = 8;  // so many prices that all are whole dollars: hardly
    if (middle_ < 500 && distinct_ < kProof) return {};
    return by_last_digits("whole numbers without a point; so that their last digits are cents");
  }

 private:
  void take_prices(const SortGuess& sort) {
    for (const Field field : {Field::price, Field::bid, Field::ask, Field::low, Field::high}) {
      const auto found = sort.fields.find(field);
      if (found == sort.fields.end()) continue;
      pointers_.insert(found->second.pointer);
      if (const auto unit = unit_in(found->second.name)) units_[*unit] = found->second.pointer;
      for (const std::size_t i : sort.sort.records) take_price(records_[i].find(found->second.pointer));
    }
  }

  void take_price(const Leaf* leaf) {
    const auto number = leaf == nullptr ? std::nullopt : number_in(leaf->text);
    if (!number || *number <= 0) return;
    points_ = points_ || leaf->text.find('.') != std::string::npos;
    fractions_ = fractions_ || *number != std::floor(*number);
    prices_.push_back(*number);
  }

  [[nodiscard]] bool are_multiples_of(double step) const {
    return std::all_of(prices_.begin(), prices_.end(), [&](double price) { return std::fmod(price, step) == 0; });
  }

  /// One for each different thing that is said; what a price's own name says goes before all.
  [[nodiscard]] std::vector<ToldScale> told_scales() const {
    std::vector<ToldScale> out;
    for (const auto& [decimals, pointer] : units_) out.push_back({decimals, false, pointer, "its name"});
    if (!out.empty()) return out;
    for (const Record& record : records_) {
      for (const auto& [pointer, leaf] : record.leaves) {
        const auto told = pointers_.count(pointer) != 0 ? std::nullopt : told_by(pointer, leaf);
        if (told) add(*told, out);
      }
    }
    if (out.empty()) add_exponents(out);
    const bool better = std::any_of(out.begin(), out.end(), [](const ToldScale& told) { return !told.tick; });
    if (better) std::erase_if(out, [](const ToldScale& told) { return told.tick; });
    return out;
  }

  static void add(const ToldScale& told, std::vector<ToldScale>& out) {
    const bool known = std::any_of(out.begin(), out.end(), [&](const ToldScale& other) {
      return other.decimals == told.decimals && other.tick == told.tick && (told.decimals || other.text == told.text);
    });
    if (!known) out.push_back(told);
  }

  /// In rows nothing is named: a number from -1 to -9 beside the price can hardly be anything else.
  void add_exponents(std::vector<ToldScale>& out) const {
    for (const SortGuess& sort : sorts_) {
      if (!is_market(sort.is) || sort.fields.count(Field::symbol) == 0) continue;
      std::map<std::string, std::size_t> counts;
      for (const std::size_t i : sort.sort.records) {
        for (const auto& [pointer, leaf] : records_[i].leaves) {
          const auto number = leaf.kind == Leaf::Kind::truth ? std::nullopt : number_in(leaf.text);
          const bool may = number && *number <= -1 && *number >= -kDecimalsMost && *number == std::floor(*number);
          if (may) ++counts[pointer];
        }
      }
      for (const auto& [pointer, count] : counts) {
        if (count < sort.sort.records.size()) continue;
        for (const std::size_t i : sort.sort.records) {
          const Leaf& leaf = *records_[i].find(pointer);
          add({static_cast<int>(-number_in(leaf.text).value_or(0)), false, pointer, leaf.text}, out);
        }
      }
    }
  }

  [[nodiscard]] ScaleGuess by_what_is_told(const std::vector<ToldScale>& told) const {
    if (told.size() > 1) return several(told);
    const ToldScale& one = told.front();
    const std::string said = one.pointer + " says " + one.text;
    if (one.tick && zeros_ > 0) return by_last_digits("whole numbers; " + said + ", but no price ends within it");
    if (!one.decimals) return unsayable(one);
    if (one.decimals == 0 || zeros_ >= *one.decimals || is_absurd(*one.decimals)) {
      ScaleGuess out{
          *one.decimals, Sure::likely, "whole numbers, and " + said + ", which the prices hardly bear out", {}};
      out.question = "price_decimals: " + said + ", but the prices do not look so; is " + std::to_string(out.decimals) +
                     " right? Compare one with a price that you know";
      return out;
    }
    if (one.tick) return by_last_digits("whole numbers; " + said, one.decimals);
    return {*one.decimals, Sure::sure, "whole numbers, and the source says the scale: " + said, {}};
  }

  [[nodiscard]] bool is_absurd(int decimals) const {
    const double price = middle_ / std::pow(10, decimals);
    return price < 0.05 || price > 100'000;
  }

  [[nodiscard]] ScaleGuess several(const std::vector<ToldScale>& told) const {
    std::string all;
    for (const ToldScale& one : told) all += (all.empty() ? "" : ", ") + one.text + " at " + one.pointer;
    ScaleGuess out = by_last_digits("the source says several scales: " + all);
    out.question = "price_decimals: the source says several scales (" + all +
                   "), and one number of decimals serves all prices; which is right for the symbols that you watch?";
    return out;
  }

  /// Steps such as 0.05: prices may be counted in them.
  [[nodiscard]] ScaleGuess unsayable(const ToldScale& told) const {
    const double cents = number_in(told.text).value_or(0) * 100;
    if (told.tick && cents >= 1 && are_multiples_of(cents))
      return by_last_digits("whole numbers, all of whole steps of " + told.text);
    ScaleGuess out = by_last_digits("whole numbers, and " + told.pointer + " says " + told.text);
    out.question = "price_decimals: the prices may be counted in steps of " + told.text + " (" + told.pointer +
                   "), which no number of decimals says; can the source send them as decimals?";
    return out;
  }

  [[nodiscard]] ScaleGuess by_last_digits(std::string why, std::optional<int> decimals = {}) const {
    ScaleGuess out{decimals.value_or(std::min(zeros_ + 2, kDecimalsMost)), Sure::likely, std::move(why), {}};
    out.question = "price_decimals: prices come without a point; is " + std::to_string(out.decimals) +
                   " right? Compare one with a price that you know";
    return out;
  }

  const std::vector<Record>& records_;
  const std::vector<SortGuess>& sorts_;
  std::set<std::string> pointers_;
  std::map<int, std::string> units_;  ///< by what the names of prices say
  std::vector<double> prices_;
  std::size_t distinct_ = 0;
  double middle_ = 0;
  int zeros_ = 0;  ///< that all prices end with
  bool points_ = false, fractions_ = false;
};

}  // namespace

ScaleGuess guess_scale(const std::vector<Record>& records, const std::vector<SortGuess>& sorts) {
  return Scale(records, sorts).guess();
}

}  // namespace brimwatch
