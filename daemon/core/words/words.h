#pragma once
// The parts of one notice's words, and how they are put together: as title, as text in lines, as a glance. What each kind
// of notice says is words_of_events.cpp.
#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "core/text/text.h"
#include "core/wording.h"
#include "core/words/phrases.h"

namespace brimwatch::words {

/// The parts of one notice's words, put together as title and text.
class Words {
 public:
  Words(const Notice& notice, const WordingContext& context)
      : n_(notice), name_(clean_line(context.symbol, 24)), note_(clean_line(context.note, 200)), offset_(context.offset) {
    say();
  }

  [[nodiscard]] std::string title() const {
    return clean_line(untied(rest_.empty() ? what_ : what_ + ": " + rest_), kTitleMost);
  }

  [[nodiscard]] Glance glance() const {
    return {clean_line(untied(what_), kTitleMost), untied(where()), untied(how_sure())};
  }

  [[nodiscard]] std::string text() const {
    std::string first = to_clock(n_.time, offset_) + "  ";
    if (!subject_.empty()) first += subject_ + "  ";
    std::string out = wrap(first + event_, kTextWidth, kTextIndent);
    const std::string indent(kTextIndent, ' ');
    const auto line = [&](const std::string& part) {
      out.append("\n").append(wrap(indent + part, kTextWidth, kTextIndent));
    };
    for (const std::string& part : state_) line(part);
    for (const std::string& part : meaning_) line(part);
    if (!note_.empty()) line("note: " + note_);
    return untied(std::move(out));
  }

  [[nodiscard]] Spoken parts() const {
    Spoken out{untied(event_), {}, {}, note_};
    for (const std::string& part : state_) out.state.push_back(untied(part));
    for (const std::string& part : meaning_) out.meaning.push_back(untied(part));
    return out;
  }

 private:
  void say();
  void say_crossed();
  void say_opened_over();
  void say_volume_arrived();
  void say_volume_faded();
  void say_left_range();
  void say_back_inside();
  void say_fell_under();
  void say_loss_limit();
  void say_gain();
  void say_halted();
  void say_resumed();
  void say_feed(std::string_view event, std::string_view meaning);
  void say_corrected();
  void say_day_end();
  void say_self_check();

  void add(std::string part) {
    if (!part.empty()) meaning_.push_back(std::move(part));
  }
  void add_state();
  void add_market();
  void add_cautions();

  [[nodiscard]] std::string pivot() const { return to_string(n_.pivot); }
  [[nodiscard]] std::string price() const { return n_.price.is_set() ? to_string(n_.price) : "unknown"; }
  [[nodiscard]] std::string top() const { return to_string(n_.range_top); }
  [[nodiscard]] std::string range() const { return pivot() + " to " + top(); }
  [[nodiscard]] std::string from_pivot() const { return change(n_.price, n_.pivot); }
  /// "48.41 (+0.1 %)"
  [[nodiscard]] std::string placed() const {
    return n_.price.is_set() && n_.pivot.is_set() ? price() + " (" + from_pivot() + ")" : price();
  }
  [[nodiscard]] std::string again() const {
    return n_.count < 2 ? std::string() : " (the " + ordinal(n_.count) + " time today)";
  }
  [[nodiscard]] std::string weight_title() const {
    const VolumeView& v = n_.volume;
    if (v.weight == Weight::unknown) return "volume not judged";
    return std::string(to_string(v.weight)) + ", odds " + odds_text(v.odds, v.weight);
  }
  [[nodiscard]] std::string odds_and_price() const {
    return "odds " + odds_text(n_.volume.odds, n_.volume.weight) + ", price " + price();
  }
  [[nodiscard]] std::string where() const;
  [[nodiscard]] std::string place() const;
  [[nodiscard]] std::string how_sure() const;
  [[nodiscard]] std::string_view standing() const {
    switch (n_.side) {
      case Side::unknown:
        return "";
      case Side::under:
        return " It counts as under the pivot again.";
      case Side::inside:
        return " It counts as inside the range again.";
      case Side::over:
        return " It counts as over the range again.";
    }
    return "";
  }
  [[nodiscard]] std::string market() const {
    return n_.trend == Trend::unknown ? "market not set" : "market " + std::string(to_string(n_.trend));
  }
  /// Of data whose time of arrival is known; a tape has none.
  [[nodiscard]] std::string freshness() const {
    if (n_.age < -kSecond) return "data stamped " + span(-n_.age) + " ahead of this clock";
    return "data " + span(n_.age < 0 ? 0 : n_.age) + " old";
  }
  /// What a title must not leave out: " (market down, old data)".
  [[nodiscard]] std::string flags() const {
    std::string all;
    const auto add = [&all](bool is, std::string_view word) {
      if (is) all.append(all.empty() ? " (" : ", ").append(word);
    };
    add(n_.muted, "muted"), add(n_.held, "held back"), add(n_.marked, "market down"), add(n_.delayed, "old data"),
        add(n_.doubtful, "split?");
    return all.empty() ? all : all + ")";
  }
  /// "; 9 min to the close", when little is left to act in.
  [[nodiscard]] std::string time_left() const {
    constexpr Nanos kLittle = 15 * kMinute;
    if (n_.to_close < 0 || n_.to_close > kLittle) return {};
    return "; " + (n_.to_close < kMinute ? "under " + tied("1", "min") : span(n_.to_close)) + " to the close";
  }

  const Notice& n_;
  std::string name_, note_;
  std::chrono::seconds offset_;
  std::string what_, rest_;  ///< the two halves of the title
  std::string subject_, event_;
  std::vector<std::string> state_, meaning_;
};

}  // namespace brimwatch::words
