#include "core/watch_list.h"

#include <algorithm>
#include <bit>

namespace brimwatch {

std::size_t WatchList::TermsHash::operator()(const Terms& terms) const {
  std::uint64_t hash = 14695981039346656037ULL;
  const auto mix = [&hash](std::uint64_t value) { hash = (hash ^ value) * 1099511628211ULL; };
  const auto both = [](std::int32_t a, std::int32_t b) {
    return static_cast<std::uint64_t>(static_cast<std::uint32_t>(a)) << 32 | static_cast<std::uint32_t>(b);
  };
  const Rules& r = terms.rules;
  mix(both(r.range, r.surge)), mix(both(r.rearm, r.slip)), mix(both(r.loss, r.bad_print));
  mix(static_cast<std::uint64_t>(r.offset.micros)), mix(static_cast<std::uint64_t>(r.tick_size.micros));
  mix(std::bit_cast<std::uint64_t>(r.odds_heavy)), mix(std::bit_cast<std::uint64_t>(r.odds_light));
  mix(std::uint64_t{r.per_day} << 32 | std::uint64_t{r.confirm_trades} << 16 | r.confirm_seconds);
  mix(std::uint64_t{r.least_size} << 16 | static_cast<std::uint64_t>(r.tick_table) << 8 |
      static_cast<std::uint64_t>(r.split_guard) << 5 | static_cast<std::uint64_t>(r.halts) << 3 |
      std::uint64_t{r.trust_auctions} << 2 | std::uint64_t{r.second_day} << 1 | std::uint64_t{r.close_above});
  for (const char c : std::string_view(terms.calendar)) mix(static_cast<unsigned char>(c));
  mix(static_cast<std::uint64_t>(terms.tape) << 8 | static_cast<unsigned char>(terms.listing));
  return hash ^ (hash >> 29);
}

WatchList::WatchList(const std::vector<Watch>& watches) {
  reserve(watches.size());
  for (const Watch& watch : watches) push_back(watch);
}

/// The names are copied, and so the views of them are made anew.
WatchList& WatchList::operator=(const WatchList& other) {
  if (this == &other) return *this;
  rows_ = other.rows_;
  symbols_ = other.symbols_;
  notes_ = other.notes_;
  terms_ = other.terms_;
  terms_numbers_ = other.terms_numbers_;
  symbol_numbers_.clear();
  for (std::uint32_t i = 0; i < symbols_.size(); ++i) symbol_numbers_.emplace(symbols_[i], i);
  return *this;
}

std::uint32_t WatchList::number_of_symbol(const std::string& symbol) {
  if (!rows_.empty() && symbols_[rows_.back().symbol] == symbol) return rows_.back().symbol;
  const auto found = symbol_numbers_.find(symbol);
  if (found != symbol_numbers_.end()) return found->second;
  const auto number = static_cast<std::uint32_t>(symbols_.size());
  symbols_.push_back(symbol);
  symbol_numbers_.emplace(symbols_.back(), number);
  return number;
}

std::uint32_t WatchList::number_of(const Terms& terms) {
  if (!rows_.empty() && terms_[rows_.back().terms] == terms) return rows_.back().terms;
  const auto [at, fresh] = terms_numbers_.try_emplace(terms, static_cast<std::uint32_t>(terms_.size()));
  if (fresh) terms_.push_back(terms);
  return at->second;
}

void WatchList::push_back(const Watch& watch) {
  Row row;
  row.pivot = watch.pivot;
  if (watch.normal_volume) row.normal_volume = watch.normal_volume->micros;
  row.symbol = number_of_symbol(watch.symbol);
  row.terms = number_of({watch.rules, watch.calendar, watch.tape, watch.listing});
  if (!watch.note.empty()) {
    notes_.push_back(watch.note);
    row.note = static_cast<std::uint32_t>(notes_.size());
  }
  row.line = watch.line;
  if (watch.from) row.from = watch.from->days;
  if (watch.until) row.until = watch.until->days;
  row.file = watch.file;
  row.column = watch.column;
  rows_.push_back(row);
}

const Watch WatchList::operator[](std::size_t i) const {  // NOLINT(readability-const-return-type)
  const Row& row = rows_[i];
  const Terms& terms = terms_[row.terms];
  Watch watch;
  watch.symbol = symbols_[row.symbol];
  watch.note = note(i);
  watch.calendar = terms.calendar;
  watch.tape = terms.tape;
  watch.listing = terms.listing;
  watch.file = row.file;
  watch.line = row.line;
  watch.column = row.column;
  watch.pivot = row.pivot;
  watch.normal_volume = normal_volume(i);
  watch.from = days(i).from;
  watch.until = days(i).until;
  watch.rules = terms.rules;
  set_levels(watch);
  return watch;
}

bool WatchList::operator==(const WatchList& other) const {
  return size() == other.size() && std::equal(begin(), end(), other.begin());
}

}  // namespace brimwatch
