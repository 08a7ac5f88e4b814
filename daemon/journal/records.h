#pragma once
// Which values of a record the journal keeps, and in which order: the same list writes and reads (see row_io.h), and its
// order is that of the columns in schema.cpp (states: state_body.h). The structured bindings name every member, so that a
// member added to a record does not compile until it has been given a place here and in the schema (or been left out on
// purpose).
#include <type_traits>

#include "core/notice.h"
#include "core/state.h"
#include "journal/journal.h"

namespace brimwatch {

template <typename Row, typename Volume>
void volume_columns(Row& row, Volume& volume) {
  auto& [so_far, normal, projected, low, high, surge, odds, needed, feed_ratio, missed_minutes, minutes, gap, lift,
         own_lift, weight, why_not, normal_days] = volume;
  (void)minutes, (void)gap, (void)lift, (void)own_lift;  // crossing_columns
  (void)normal_days;
  row(so_far), row(normal), row(projected), row(low), row(high), row(surge), row(odds), row(needed), row(feed_ratio);
  row(missed_minutes), row(weight), row(why_not);
}

/// The flags of a notice as one number; the lowest bit is the only one that older journals know.
template <typename Row, typename... Flags>
void flag_column(Row& row, Flags&... flags) {
  int bit = 0;
  std::uint8_t all = 0;
  ((all = static_cast<std::uint8_t>(all | (flags ? 1 << bit : 0)), ++bit), ...);
  row(all);
  if constexpr ((!std::is_const_v<Flags> && ...)) bit = 0, ((flags = (all >> bit & 1) != 0, ++bit), ...);
}

/// The numbers of symbol and watch mean nothing in another process and are not kept; what only the words and the id need
/// is in them.
template <typename Row, typename Record>
void notice_columns(Row& row, Record& record) {
  auto& [notice, id, symbol, title, text, note, offset] = record;
  auto& [kind, side, trend, marked, delayed, in_hole, held, doubtful, last_today, muted, count, withdrawn, symbol_number,
         watch, day, time, age, to_close, price, price_before, pivot, range_top, loss_limit, bought, trade_id, volume,
         detail] = notice;
  (void)symbol_number, (void)watch, (void)withdrawn, (void)to_close, (void)bought;
  row(id), row(day), row(time), row(offset), row(symbol), row(kind), row(count), row(side), row(trend);
  flag_column(row, marked, held, doubtful, last_today, muted);
  row(delayed), row(in_hole), row(age), row(price), row(price_before), row(pivot), row(range_top), row(loss_limit);
  row(trade_id);
  volume_columns(row, volume);
  row(detail), row(title), row(text), row(note);
}

/// Of a crossing that was judged, in a row beside its notice; its notice's number stands before these.
template <typename Row, typename Volume>
void crossing_columns(Row& row, Volume& volume) {
  row(volume.minutes), row(volume.gap), row(volume.lift), row(volume.own_lift);
}

template <typename Row, typename Day>
void day_columns(Row& row, Day& record) {
  auto& [day, symbol, volume, coverage, open, high, low, close, half_day, knots] = record;
  row(symbol), row(day), row(volume), row(coverage), row(open), row(high), row(low), row(close), row(half_day),
      row(knots);
}

template <typename Row, typename Blind>
void hole_columns(Row& row, Blind& hole) {
  auto& [feed, symbol, from, to, why] = hole;
  row(feed), row(symbol), row(from), row(to), row(why);
}

template <typename Row, typename Said>
void answer_columns(Row& row, Said& answer) {
  auto& [id, kind, who, at, time, day, symbol, pivot, price, shares, until, under_pivot, last_day, note, notice] = answer;
  row(id), row(kind), row(who), row(at), row(time), row(day), row(symbol), row(pivot), row(price), row(shares);
  row(until), row(under_pivot), row(last_day), row(note), row(notice);
}

/// The notice's number stands before these, in place of its id.
template <typename Row, typename Delivery>
void delivery_columns(Row& row, Delivery& delivery) {
  auto& [notice_id, channel, state, attempts, unknowns, next, done, digest, reply, taken_by] = delivery;
  (void)notice_id, (void)taken_by;  // one row each, beside it
  row(channel), row(state), row(attempts), row(unknowns), row(next), row(done), row(digest), row(reply);
}

}  // namespace brimwatch
