#include "desk/silence.h"

#include <algorithm>

#include "core/text/text.h"
#include "core/wording.h"
#include "desk/channel_plans.h"

namespace brimwatch {
namespace {

constexpr Nanos kGapWorthAWord = kMinute;

class CausesOfSilence {
 public:
  explicit CausesOfSilence(const SilenceFacts& facts) : f_(facts) {}

  Silence run() {
    standing();
    answers();
    holes();
    prints();
    for (const ToldNotice& one : f_.told) notice(one);
    tape();
    std::stable_sort(out_.causes.begin(), out_.causes.end(),
                     [](const SilenceCause& a, const SilenceCause& b) { return a.at < b.at; });
    judge();
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::string clock(Timestamp at) const { return to_clock(at, f_.offset); }
  [[nodiscard]] bool tape_crossed() const {
    return std::any_of(f_.tape.said.begin(), f_.tape.said.end(),
                       [](const NoticeRecord& one) { return is_pivot_crossing(one.notice.kind); });
  }
  [[nodiscard]] const ToldNotice* crossing() const {
    const auto found = std::find_if(f_.told.begin(), f_.told.end(),
                                    [](const ToldNotice& one) { return is_pivot_crossing(one.record.notice.kind); });
    return found == f_.told.end() ? nullptr : &*found;
  }
  SilenceCause& add(SilenceCause cause) { return out_.causes.emplace_back(std::move(cause)); }

  /// What stood in its way whatever the price did.
  void standing() {
    for (const MuteCause& cause : f_.mute) add({word_of(cause), {}, {}, brimwatch::to_string(cause), advice(cause)});
    if (f_.stood && !f_.stood->armed && f_.stood->day < f_.day) {
      const std::string when = f_.before ? "; the last one was told on " + brimwatch::to_string(f_.before->notice.day) +
                                               " at " + to_clock(f_.before->notice.time, f_.before->offset)
                                         : "";
      add({"told-before",
           {},
           {},
           "it had crossed on an earlier day and has not been told anew since" + when,
           "the next crossing counts after a trade at or under " + to_string(f_.watch.rearm_level),
           {{"rearm_level", f_.watch.rearm_level.as_double()}}});
    }
  }

  static std::string_view word_of(const MuteCause& cause) {
    switch (cause.about) {
      case MuteCause::About::days:
        return "not-in-force";
      case MuteCause::About::market:
        return "market";
      case MuteCause::About::channels:
        return "channels";
      case MuteCause::About::volume:
        return "volume-unknown";
      case MuteCause::About::stand:
      case MuteCause::About::levels:
        break;
    }
    return "rules";
  }

  static std::string advice(const MuteCause& cause) {
    switch (cause.about) {
      case MuteCause::About::days:
        return "look at from and until in the list, and at the calendar";
      case MuteCause::About::market:
        return "[market] when_down = \"mark\" tells such crossings, with the doubt";
      case MuteCause::About::channels:
        return "look at kinds and weights of the channels";
      case MuteCause::About::volume:
        return "give normal_volume, or daily bars in [history]";
      case MuteCause::About::stand:
      case MuteCause::About::levels:
        break;
    }
    return {};
  }

  void answers() {
    for (const Answer& one : f_.answers) {
      const std::string who = " by " + clean_line(one.who, 40);
      const std::string day = one.day == f_.day ? "" : " (" + brimwatch::to_string(one.day) + ")";
      const Timestamp at = one.day == f_.day ? one.time : Timestamp{};
      if (one.kind == AnswerKind::mute)
        add({"muted", at, one.until,
             "muted" + who + day +
                 (one.under_pivot ? std::string(" until a price is under the pivot") : " until " + clock(one.until)),
             "`brimwatch watch unmute " + f_.watch.symbol + "`; the journal has what was not sent"});
      if (one.kind == AnswerKind::unmute) add({"unmuted", at, {}, "unmuted" + who + day, ""});
      if (one.kind == AnswerKind::drop)
        add({"dropped",
             at,
             {},
             "dropped" + who + day,
             "`brimwatch watch add " + f_.watch.symbol + " PIVOT` watches it again"});
    }
  }

  void holes() {
    for (const Hole& hole : f_.holes) {
      if (hole.to - hole.from < kGapWorthAWord) continue;
      add({"hole",
           hole.from,
           hole.to,
           "feed " + clean_line(hole.feed, 40) + " was blind" + (hole.symbol.empty() ? "" : " for it") + " for " +
               span_text(hole.to - hole.from) + (hole.why.empty() ? "" : ": " + clean_line(hole.why, 120)),
           "a crossing in such a time is told with the doubt, or not seen; a second feed (standby_for) sees it",
           {{"minutes", static_cast<double>(hole.to - hole.from) / static_cast<double>(kMinute)}}});
    }
  }

  void prints() {
    for (const UncountedPrint& one : f_.tape.uncounted)
      add({"not-counted",
           one.trade.time,
           {},
           "a trade at " + to_string(one.trade.price) + " x " + to_string(one.trade.size) + " did not count: " + one.why,
           "",
           {{"price", one.trade.price.as_double()}, {"size", one.trade.size.as_double()}}});
    if (f_.tape.uncounted_count > f_.tape.uncounted.size())
      add({"not-counted",
           {},
           {},
           std::to_string(f_.tape.uncounted_count) + " trades at or above the pivot did not count; the first are below",
           "",
           {{"trades", static_cast<double>(f_.tape.uncounted_count)}}});
  }

  void notice(const ToldNotice& one) {
    const Notice& said = one.record.notice;
    if (said.kind == NoticeKind::day_end) return;
    std::string what = std::string(to_string(said.kind)) + " at " + to_string(said.price);
    if (said.volume.weight != Weight::unknown) what += "; " + odds_phrase(said.volume);
    std::vector<std::pair<std::string_view, double>> numbers{{"price", said.price.as_double()}};
    if (said.volume.weight != Weight::unknown) numbers.emplace_back("odds", said.volume.odds);
    if (said.muted) {
      add({"kept-muted", said.time, {}, what + "; kept in the journal, because it was muted", "", numbers});
    } else if (said.held) {
      add({"kept-market-down",
           said.time,
           {},
           what + "; kept in the journal, because the market was down",
           "[market] when_down = \"mark\" tells such crossings, with the doubt",
           numbers});
    } else {
      add({"told", said.time, {}, what + told_through(one), "", numbers});
      light(said);
      quiet(said);
    }
    if (said.last_today)
      add({"limit",
           said.time,
           {},
           "the last of " + std::to_string(f_.watch.rules.per_day) + " crossing notices a day",
           "per_day in [rules] or in the list",
           {{"per_day", static_cast<double>(f_.watch.rules.per_day)}}});
  }

  /// Who has it, and who not and why.
  std::string told_through(const ToldNotice& one) {
    if (one.deliveries.empty()) return "; no channel was asked to carry it";
    std::string out = ";";
    for (const DeliveryRow& row : one.deliveries) {
      out += (out.size() > 1 ? ", " : " ") + clean_line(row.channel, 40) + " " + std::string(to_string(row.state));
      if (row.done.is_set()) out += " " + clock(row.done);
      else if (row.next.is_set()) out += ", again at " + clock(row.next);
      if (row.state != DeliveryState::delivered && !row.reply.empty()) out += " (" + clean_line(row.reply, 80) + ")";
    }
    return out;
  }

  /// The volume at that moment is no reason for silence, but for channels that choose by it.
  void light(const Notice& said) {
    if (!is_pivot_crossing(said.kind) || said.volume.weight == Weight::heavy) return;
    for (const ChannelSettings& channel : f_.settings.channels) {
      const auto& weights = channel.weights;
      const bool leaves_out =
          !weights.empty() && std::find(weights.begin(), weights.end(), said.volume.weight) == weights.end();
      if (!channel.enabled || !leaves_out) continue;
      add({"volume",
           said.time,
           {},
           "channel " + channel.name + " does not carry a crossing whose volume is " +
               std::string(to_string(said.volume.weight)) + ": " + volume_phrase(said.volume),
           "weights of that channel",
           {{"odds", said.volume.odds}}});
    }
  }

  void quiet(const Notice& said) {
    for (const ChannelPlan& plan : plans_of(f_.settings.channels)) {
      const auto until = quiet_until(plan, said.time);
      if (!until || (plan.urgent_passes && is_urgent(said.kind))) continue;
      add({"quiet-hours", said.time, *until, "channel " + plan.name + " was quiet until " + clock(*until),
           "quiet of that channel; urgent_passes = true lets notices about prices through"});
    }
  }

  /// What the tape shows and the journal does not.
  void tape() {
    if (f_.tape.files.empty()) return;
    if (f_.tape.trades == 0)
      add({"not-heard", {}, {}, "the tape has no trade of it in regular hours", "look at the symbol's form at the feed"});
    for (const NoticeRecord& one : f_.tape.said) {
      const bool known = std::any_of(f_.told.begin(), f_.told.end(),
                                     [&one](const ToldNotice& told) { return told.record.id == one.id; });
      if (known || !is_pivot_crossing(one.notice.kind)) continue;
      std::string what =
          std::string(to_string(one.notice.kind)) + " at " + to_string(one.notice.price) + " by the tape; ";
      what += f_.journal.empty() ? "no journal says whether it was told" : "the journal has no notice of it";
      add({"not-in-journal",
           one.notice.time,
           {},
           what + volume_of(one.notice),
           f_.journal.empty() ? ""
                              : "brimwatch did not run then, or did not watch it: `brimwatch journal` has what it said",
           {{"price", one.notice.price.as_double()}, {"odds", one.notice.volume.odds}}});
    }
    const auto told =
        static_cast<std::uint16_t>(std::count_if(f_.tape.said.begin(), f_.tape.said.end(), [](const NoticeRecord& one) {
          return is_pivot_crossing(one.notice.kind);
        }));
    if (f_.tape.crossings > told && told > 0)
      add({"limit",
           {},
           {},
           std::to_string(f_.tape.crossings) + " crossings by the tape, told are at most " +
               std::to_string(f_.watch.rules.per_day) + " a day",
           "per_day in [rules] or in the list",
           {{"crossings", static_cast<double>(f_.tape.crossings)}}});
  }

  static std::string volume_of(const Notice& said) {
    return said.volume.weight == Weight::unknown ? std::string() : "; " + odds_phrase(said.volume);
  }

  void judge() {
    const std::string name =
        f_.watch.symbol + ", pivot " + to_string(f_.watch.pivot) + ", on " + brimwatch::to_string(f_.day) + ": ";
    const ToldNotice* const one = crossing();
    if (one != nullptr) return say_crossing(name, one->record.notice);
    if (tape_crossed())
      return say("crossed", name + "it crossed by the tape, and " +
                                (f_.journal.empty() ? "there is no journal" : "the journal does not have it"));
    if (!f_.session) return say("not-crossed", name + "the exchange is closed that day");
    if (f_.tape.high.is_set()) return say_high(name);
    if (f_.now < f_.session->open)
      return say("not-yet", name + "the exchange opens at " + clock(f_.session->open) +
                                (blocked() ? "; its crossing would not be told" : "; its crossing would be told"));
    say("not-known", name + "there is neither a notice of it nor a tape of the day" + (f_.is_past ? "" : " so far"));
  }

  [[nodiscard]] bool blocked() const {
    return std::any_of(f_.mute.begin(), f_.mute.end(), [](const MuteCause& cause) { return cause.no_crossing; });
  }

  void say_crossing(const std::string& name, const Notice& said) {
    const bool kept = said.muted || said.held;
    say(kept ? "kept" : "told", name + std::string(to_string(said.kind)) + " at " + clock(said.time) + " at " +
                                    to_string(said.price) + (kept ? ", kept in the journal only" : ", told"));
  }

  void say_high(const std::string& name) {
    const bool reached = f_.tape.high >= f_.watch.pivot;
    say("not-crossed", name + "the highest price that counted is " + to_string(f_.tape.high) + ", " +
                           percent_from(f_.tape.high, f_.watch.pivot) + " from the pivot" +
                           (reached ? "; it did not come from under the pivot" : ""));
  }

  void say(std::string_view verdict, std::string summary) {
    out_.verdict = verdict;
    out_.summary = std::move(summary);
  }

  const SilenceFacts& f_;
  Silence out_;
};

}  // namespace

Silence silence_of(const SilenceFacts& facts) { return CausesOfSilence(facts).run(); }

}  // namespace brimwatch
