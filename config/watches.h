#pragma once
// Watches from their tables and rows, and what must hold among all of them.
#include <string>
#include <string_view>
#include <vector>

#include "config/sections/sections.h"

namespace brimwatch {

/// What a watch takes over where it says nothing itself.
struct WatchDefaults {
  Rules rules;
  Mic calendar;
  Tape tape = Tape::cts;
  std::size_t most = static_cast<std::size_t>(kWatchesMost);  ///< of all lists together

  [[nodiscard]] WatchDraft draft() const;
};

/// False, and told at the first that is too many: the rest is not read.
bool is_room(const WatchList& watches, std::size_t most, const Place& place, Reading& reading);

/// One `[[watch]]`; added only when all of it is right.
void add_watch(const Value& table, const WatchDefaults& defaults, Reading& reading, WatchList& into);

/// `watch` of a file: one table, or a list of them.
void add_watches(const Value& value, const WatchDefaults& defaults, Reading& reading, WatchList& into);

/// A CSV list: RFC 4180, the first record names the columns (keys of a watch or rules, any subset with symbol and pivot
/// or peak). Empty cells count as not said; spaces around cells are dropped; empty lines and lines that begin with '#'
/// are passed over. A million rows take about a second.
void add_csv_list(std::string_view text, std::uint16_t file, const WatchDefaults& defaults, Reading& reading,
                  WatchList& into);

/// Of a (symbol, pivot) that comes twice the first holds; the others are left out, each with a warning. A symbol with two
/// calendars is an error.
void check_among(WatchList& watches, const std::vector<std::string>& files, Problems& errors, Problems& warnings);

}  // namespace brimwatch
