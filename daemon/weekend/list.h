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

/// "[cup with handle, 24 % deep, 21 weeks, score 92]": our part of a note.
[[nodiscard]] std::string note_of(const Candidate& candidate);

/// Our comment lines on a base: its facts, each rule kept or broken, the score.
[[nodiscard]] std::string fact_comments(const Candidate& candidate);

/// One [[watch]] table with its comments. `user_note` is put behind ours.
[[nodiscard]] std::string watch_block(const Candidate& candidate, const RuleBook& book, std::string_view user_note = {});

/// `text` as a TOML basic string, quotes included.
[[nodiscard]] std::string toml_string(std::string_view text);

/// The whole list.
[[nodiscard]] std::string watch_list(const Prepared& prepared, const RuleBook& book);

/// For the terminal: a table of all, best first.
[[nodiscard]] std::string overview(const Prepared& prepared);
/// For the terminal: all that is known of one.
[[nodiscard]] std::string in_words(const Candidate& candidate);
/// "read 86 stocks (106,076 bars) ...": what was read and what was left out.
[[nodiscard]] std::string summary(const Prepared& prepared);

/// One line, one object. Keys: symbol, kind, as_of, pivot, last_close, to_pivot, score, points, points_most, length,
/// depth, prior_rise, rise_from, normal_volume, quiet, up_down, index_fall, handle {...} (cup with handle), undercut
/// (double bottom), strength {...}, marks [{name, day, price}], rules [{name, verdict, weight, sentence}], adjusted,
/// report, ahead.
[[nodiscard]] std::string to_json(const Candidate& candidate);

}  // namespace brimwatch
