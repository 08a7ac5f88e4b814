#pragma once
// Watches in little memory: what many of them share (symbol, note, rules, calendar) is kept once, and levels, which
// follow from pivot and rules, are not kept at all. It reads and is filled like a vector of Watch; what it gives are
// values made on the spot, so a view of one's text lasts no longer than the value. 48 bytes a watch, against 216 and its
// notes.
#include <compare>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <initializer_list>
#include <iterator>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "core/large_pages.h"
#include "core/watch.h"

namespace brimwatch {

class WatchList {
 public:
  WatchList() = default;
  WatchList(const std::vector<Watch>& watches);  // NOLINT(google-explicit-constructor): the same in less room
  WatchList(std::initializer_list<Watch> watches) : WatchList(std::vector<Watch>(watches)) {}
  WatchList(const WatchList& other) { *this = other; }
  WatchList& operator=(const WatchList& other);
  WatchList(WatchList&&) noexcept = default;
  WatchList& operator=(WatchList&&) noexcept = default;
  ~WatchList() = default;

  /// `watch` has the levels of set_levels().
  void push_back(const Watch& watch);
  void reserve(std::size_t count) { rows_.reserve(count); }
  [[nodiscard]] std::size_t size() const { return rows_.size(); }
  [[nodiscard]] bool empty() const { return rows_.empty(); }

  /// Const, so that nobody sets a field of what is only a copy.
  [[nodiscard]] const Watch operator[](std::size_t i) const;  // NOLINT(readability-const-return-type)

  // Single fields, without making a Watch. Views last as long as the list.
  [[nodiscard]] const std::string& symbol(std::size_t i) const { return symbols_[rows_[i].symbol]; }
  [[nodiscard]] std::string_view note(std::size_t i) const {
    return rows_[i].note == 0 ? std::string_view() : std::string_view(notes_[rows_[i].note - 1]);
  }
  [[nodiscard]] Price pivot(std::size_t i) const { return rows_[i].pivot; }
  [[nodiscard]] const Rules& rules(std::size_t i) const { return terms_[rows_[i].terms].rules; }
  [[nodiscard]] const Mic& calendar(std::size_t i) const { return terms_[rows_[i].terms].calendar; }
  [[nodiscard]] std::optional<Shares> normal_volume(std::size_t i) const {
    return rows_[i].normal_volume == kNone ? std::nullopt : std::optional(Shares{rows_[i].normal_volume});
  }
  struct Days {
    std::optional<Date> from, until;
  };
  [[nodiscard]] Days days(std::size_t i) const {
    const Row& row = rows_[i];
    return {row.from == kNoDay ? std::nullopt : std::optional(Date{row.from}),
            row.until == kNoDay ? std::nullopt : std::optional(Date{row.until})};
  }
  /// The number of its symbol among symbols(), the number of its calendar, tape, listing and rules among the kinds of
  /// them.
  [[nodiscard]] std::uint32_t symbol_number(std::size_t i) const { return rows_[i].symbol; }
  [[nodiscard]] std::uint32_t terms_number(std::size_t i) const { return rows_[i].terms; }

  /// Each symbol once, in the order of first sight.
  [[nodiscard]] const std::deque<std::string>& symbols() const { return symbols_; }

  class Iterator {
   public:
    using iterator_category = std::input_iterator_tag;
    using value_type = Watch;
    using difference_type = std::ptrdiff_t;
    using pointer = void;
    using reference = Watch;

    Iterator() = default;
    Iterator(const WatchList* list, std::size_t at) : list_(list), at_(at) {}
    Watch operator*() const { return (*list_)[at_]; }
    Iterator& operator++() { return ++at_, *this; }
    void operator++(int) { ++at_; }
    bool operator==(const Iterator& other) const { return at_ == other.at_; }

   private:
    const WatchList* list_ = nullptr;
    std::size_t at_ = 0;
  };
  [[nodiscard]] Iterator begin() const { return {this, 0}; }
  [[nodiscard]] Iterator end() const { return {this, size()}; }
  [[nodiscard]] const Watch front() const { return (*this)[0]; }          // NOLINT(readability-const-return-type)
  [[nodiscard]] const Watch back() const { return (*this)[size() - 1]; }  // NOLINT(readability-const-return-type)

  /// The same watches in the same order.
  bool operator==(const WatchList& other) const;

 private:
  static constexpr std::int64_t kNone = -1;  ///< no normal volume is given
  static constexpr std::int32_t kNoDay = INT32_MIN;

  struct Terms {
    Rules rules;
    Mic calendar;
    Tape tape = Tape::cts;
    char listing = 0;
    bool operator==(const Terms&) const = default;
  };
  struct TermsHash {
    std::size_t operator()(const Terms& terms) const;
  };
  struct Row {
    Price pivot;
    std::int64_t normal_volume = kNone;
    std::uint32_t symbol = 0, terms = 0;  ///< places in the lists below
    std::uint32_t note = 0;               ///< the same and one more; 0: none
    std::uint32_t line = 0;
    std::int32_t from = kNoDay, until = kNoDay;
    std::uint16_t file = 0, column = 0;
  };

  std::uint32_t number_of_symbol(const std::string& symbol);
  std::uint32_t number_of(const Terms& terms);

  LongVector<Row> rows_;
  std::deque<std::string> symbols_;  // a deque: the views in `symbol_numbers_` stay good
  std::unordered_map<std::string_view, std::uint32_t> symbol_numbers_;
  std::vector<std::string> notes_;
  std::vector<Terms> terms_;
  std::unordered_map<Terms, std::uint32_t, TermsHash> terms_numbers_;
};

}  // namespace brimwatch
