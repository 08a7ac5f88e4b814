// The rules of thumb, one sentence each. Whoever reads the list should see at once what was found and what was wanted.

#include <fmt/core.h>

#include "weekend/facts.h"

namespace brimwatch {
namespace {

Verdict kept_if(bool kept) { return kept ? Verdict::kept : Verdict::broken; }

RuleResult prior_rise(const Facts& f, const RuleBook& b) {
  const double wanted = f.kind == BaseKind::flat_base ? b.flat_rise_least : b.rise_least;
  return {"prior-rise", kept_if(f.prior_rise >= wanted), true,
          fmt::format("rose {:.0f} % before the base; at least {:.0f} % wanted", f.prior_rise, wanted)};
}

RuleResult flat_depth(const Facts& f, const RuleBook& b) {
  return {"depth", kept_if(f.depth <= b.flat_depth_most), true,
          fmt::format("{:.1f} % deep; at most {:.0f} % wanted", f.depth, b.flat_depth_most)};
}

RuleResult depth(const Facts& f, const RuleBook& b) {
  if (f.kind == BaseKind::flat_base) return flat_depth(f, b);
  const bool cup = f.kind != BaseKind::double_bottom;
  const double least = cup ? b.cup_depth_least : b.w_depth_least, most = cup ? b.cup_depth_most : b.w_depth_most;
  if (f.depth < least) {
    return {"depth", Verdict::broken, true,
            fmt::format("only {:.1f} % deep; {:.0f} to {:.0f} % wanted", f.depth, least, most)};
  }
  if (f.depth <= most) {
    return {"depth", Verdict::kept, true, fmt::format("{:.1f} % deep; {:.0f} to {:.0f} % wanted", f.depth, least, most)};
  }
  if (!f.index_fall || *f.index_fall < b.index_fell) {
    return {"depth", Verdict::broken, true,
            fmt::format("{:.1f} % deep; {:.0f} to {:.0f} % wanted{}", f.depth, least, most,
                        f.index_fall ? ", and the index did not fall hard" : " (no index was given to excuse more)")};
  }
  const double excused = b.depth_most_index_fell;
  return {"depth", kept_if(f.depth <= excused + b.depth_little_more), true,
          fmt::format("{:.1f} % deep; up to {:.0f} % or a little more while the index fell {:.0f} %", f.depth, excused,
                      *f.index_fall)};
}

RuleResult length(const Facts& f, const RuleBook& b) {
  int wanted = b.flat_length_least;
  if (f.kind == BaseKind::cup_with_handle || f.kind == BaseKind::cup) wanted = b.cup_length_least;
  if (f.kind == BaseKind::double_bottom) wanted = b.w_length_least;
  return {"length", kept_if(f.length >= wanted), true,
          fmt::format("{:.1f} weeks long ({} sessions); at least {:.1f} wanted", f.length / 5.0, f.length, wanted / 5.0)};
}

void handle_rules(const Facts& f, const RuleBook& b, std::vector<RuleResult>& out) {
  out.push_back({"handle-place", kept_if(f.handle_place >= 50), true,
                 fmt::format("the handle's middle stands {:.0f} % up the cup; the upper half wanted", f.handle_place)});
  out.push_back(
      {"handle-depth", kept_if(f.handle_depth <= b.handle_depth_most), false,
       fmt::format("the handle gave back {:.1f} %; at most {:.0f} % wanted", f.handle_depth, b.handle_depth_most)});
  out.push_back(
      {"handle-volume", kept_if(f.handle_volume <= b.handle_volume_most), false,
       fmt::format("volume in the handle was {:.0f} % of the 50 sessions before it; light, at most {:.0f} %, wanted",
                   f.handle_volume, b.handle_volume_most)});
  out.push_back(
      {"handle-drift", kept_if(f.handle_drift <= 0), false,
       fmt::format("closes in the handle {} {:.1f} %; down or sideways wanted",
                   f.handle_drift > 0 ? "rise" : "drift down", f.handle_drift > 0 ? f.handle_drift : -f.handle_drift)});
}

RuleResult roundness(const Facts& f, const RuleBook& b) {
  return {"round", kept_if(f.bottom_sessions >= b.bottom_sessions_least), false,
          fmt::format("{} closes in the cup's lower third; a round bottom has at least {}", f.bottom_sessions,
                      b.bottom_sessions_least)};
}

RuleResult flat_place(const Facts& f) {
  return {"place", kept_if(f.place >= 50), false,
          fmt::format("the last close stands {:.0f} % up the base; the upper half wanted", f.place)};
}

/// "dry-up, round" of the rules with that verdict.
std::string names_of(const std::vector<RuleResult>& rules, Verdict verdict) {
  std::string out;
  for (const RuleResult& rule : rules) {
    if (rule.verdict == verdict) out += (out.empty() ? "" : ", ") + std::string(rule.name);
  }
  return out;
}

void volume_rules(const Facts& f, const RuleBook& b, std::vector<RuleResult>& out) {
  const bool known = f.normal_volume > 0;
  out.push_back({"dry-up", known ? kept_if(f.quiet <= b.quiet_most) : Verdict::unknown, false,
                 known ? fmt::format("the quietest five sessions had {:.0f} % of normal volume; at most {:.0f} % wanted",
                                     f.quiet, b.quiet_most)
                       : fmt::format("no volume is known, so a dry-up cannot be judged")});
  out.push_back({"rising-volume", f.rising_volume ? kept_if(*f.rising_volume >= b.rising_volume_least) : Verdict::unknown,
                 false,
                 f.rising_volume
                     ? fmt::format("volume on rising days was {:.2f} times that on falling days in 50 sessions; at least "
                                   "{:.2f} wanted",
                                   *f.rising_volume, b.rising_volume_least)
                     : fmt::format("no day closed lower with volume, so rising and falling days cannot be compared")});
}

RuleResult strength(const Facts& f, const RuleBook& b) {
  if (!f.strength) return {"strength", Verdict::unknown, false, "no index to measure relative strength against"};
  return {"strength", kept_if(f.strength->place >= b.strength_place_least), false,
          fmt::format("the relative strength line stands {:.0f} % up its last {} sessions{}; at least {:.0f} % wanted",
                      f.strength->place, f.strength->sessions, f.strength->at_high ? ", at their high" : "",
                      b.strength_place_least)};
}

void add_up(Judgement& out) {
  for (const RuleResult& rule : out.rules) {
    out.kept += rule.verdict == Verdict::kept;
    out.judged += rule.verdict != Verdict::unknown;
    if (rule.core && rule.verdict == Verdict::broken) out.core_kept = false;
  }
  out.explained = fmt::format("{} of {} rules kept", out.kept, out.judged);
  if (const auto broken = names_of(out.rules, Verdict::broken); !broken.empty()) out.explained += "; broken: " + broken;
  if (const auto open = names_of(out.rules, Verdict::unknown); !open.empty()) out.explained += "; not judged: " + open;
}

}  // namespace

Judgement judge(const Facts& facts, const RuleBook& book) {
  Judgement out;
  const BaseKind kind = facts.kind;
  if (kind != BaseKind::no_base) out.rules = {prior_rise(facts, book), depth(facts, book), length(facts, book)};
  if (kind == BaseKind::cup_with_handle) handle_rules(facts, book, out.rules);
  if (kind == BaseKind::cup_with_handle || kind == BaseKind::cup) out.rules.push_back(roundness(facts, book));
  if (kind == BaseKind::flat_base) out.rules.push_back(flat_place(facts));
  volume_rules(facts, book, out.rules);
  out.rules.push_back(strength(facts, book));
  add_up(out);
  return out;
}

Judgement unjudged(Judgement judgement, const std::vector<std::string>& doubts) {
  for (RuleResult& rule : judgement.rules) rule.verdict = Verdict::unknown;
  judgement.kept = judgement.judged = 0;
  judgement.core_kept = true;
  judgement.explained = "not judged: ";
  for (const std::string& doubt : doubts) judgement.explained += (&doubt == &doubts.front() ? "" : "; ") + doubt;
  return judgement;
}

}  // namespace brimwatch
