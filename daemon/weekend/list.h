#pragma once
// What a person gets to read of the candidates: a watch list that `run` loads, lines for the terminal, JSON. Pure.
//
// In a prepared list, a comment that begins with "#|" and the part of a note in [brackets] belong to the program and are
// written anew when the list is carried forward. Everything else (other comments, other keys, the rest of a note) is the
// user's and is left alone.
#include <string>

#include "weekend/prepare.h"

namespace brimwatch {

constexpr std::string_view kOurComment = "#|";

/// Head of a prepared list.
[[nodiscard]] std::string list_head(Date as_of);

/// "[cup with handle, 24 % deep, 21 weeks, 15 of 16 rules kept]": our part of a note.
[[nodiscard]] std::string note_of(const Candidate& candidate);

/// Our comment lines on a base: its outlook, its facts, each rule kept or broken.
[[nodiscard]] std::string fact_comments(const Candidate& candidate, const OddsBook& odds);

/// One [[watch]] table with its comments. `user_note` is put behind ours.
[[nodiscard]] std::string watch_block(const Candidate& candidate, const RuleBook& book, std::string_view user_note = {});

/// `text` as a TOML basic string, quotes included.
[[nodiscard]] std::string toml_string(std::string_view text);

/// The whole list: the near ones, then the far ones and the doubtful ones under headings of their own.
[[nodiscard]] std::string watch_list(const Prepared& prepared, const RuleBook& book);

/// For the terminal: a table of the first `show`, the nearest first, what its columns mean, and how many more there are.
[[nodiscard]] std::string overview(const Prepared& prepared, int show);
/// For the terminal: all that is known of one.
[[nodiscard]] std::string in_words(const Candidate& candidate, const OddsBook& odds);
/// "read 86 stocks (106,076 bars) ...": what was read and what was left out.
[[nodiscard]] std::string summary(const Prepared& prepared);
/// A line for each symbol that is not on the list, with the reason.
[[nodiscard]] std::string not_listed(const Prepared& prepared);

/// One line, one object. Keys: symbol, kind, as_of, pivot, last_close, to_pivot, ordinary_move (%), moves_to_pivot,
/// cross_in_5, up20_first, down8_first (fractions), odds_from, near, doubts, rules_kept, rules_judged, length, depth,
/// prior_rise, rise_from, normal_volume, quiet, rising_volume, index_fall, ten_week_mean, handle {...} (cup with handle),
/// place, undercut and second_leg (double bottom), one_print {over, next, next_day} or null, strength {...}, marks
/// [{name, day, price}], rules [{name, verdict, core, sentence}], adjusted, report, ahead.
[[nodiscard]] std::string to_json(const Candidate& candidate, const Prepared& prepared, const RuleBook& book);
/// Keys: symbol, not_listed (the reason).
[[nodiscard]] std::string to_json(const NotListed& one);

}  // namespace brimwatch
