// The rules of thumb, one sentence each. Whoever reads the list should see at once what was found and what was wanted.
#include <cstdarg>
#include <cstdio>

#include "weekend/facts.h"

namespace brimwatch {
namespace {

__attribute__((format(printf, 1, 2))) std::string say(const char* format, ...) {
  char text[240];
  va_list args;
  va_start(args, format);
  std::vsnprintf(text, sizeof text, format, args);
  va_end(args);
  return text;
}

Verdict kept_if(bool kept) { return kept ? Verdict::kept : Verdict::broken; }

RuleResult prior_rise(const Facts& f, const RuleBook& b) {
  const double wanted = f.kind == BaseKind::flat_base ? b.flat_rise_least : b.rise_least;
  return {"prior-rise", kept_if(f.prior_rise >= wanted), b.weight_rise, true,
          say("rose %.0f %% before the base; at least %.0f %% wanted", f.prior_rise, wanted)};
}

RuleResult flat_depth(const Facts& f, const RuleBook& b) {
  return {"depth", kept_if(f.depth <= b.flat_depth_most), b.weight_depth, true,
          say("%.1f %% deep; at most %.0f %% wanted", f.depth, b.flat_depth_most)};
}

RuleResult depth(const Facts& f, const RuleBook& b) {
  if (f.kind == BaseKind::flat_base) return flat_depth(f, b);
  const bool cup = f.kind == BaseKind::cup_with_handle;
  const double least = cup ? b.cup_depth_least : b.w_depth_least, most = cup ? b.cup_depth_most : b.w_depth_most;
  if (f.depth < least) {
    return {"depth", Verdict::broken, b.weight_depth, true,
            say("only %.1f %% deep; %.0f to %.0f %% wanted", f.depth, least, most)};
  }
  if (f.depth <= most) {
    return {"depth", Verdict::kept, b.weight_depth, true,
            say("%.1f %% deep; %.0f to %.0f %% wanted", f.depth, least, most)};
  }
  if (!f.index_fall || *f.index_fall < b.index_fell) {
    return {"depth", Verdict::broken, b.weight_depth, true,
            say("%.1f %% deep; %.0f to %.0f %% wanted%s", f.depth, least, most,
                f.index_fall ? ", and the index did not fall hard" : " (no index was given to excuse more)")};
  }
  const double excused = b.depth_most_index_fell;
  return {
      "depth", kept_if(f.depth <= excused + b.depth_little_more), b.weight_depth, true,
      say("%.1f %% deep; up to %.0f %% or a little more while the index fell %.0f %%", f.depth, excused, *f.index_fall)};
}

RuleResult length(const Facts& f, const RuleBook& b) {
  int wanted = b.flat_length_least;
  if (f.kind == BaseKind::cup_with_handle) wanted = b.cup_length_least;
  if (f.kind == BaseKind::double_bottom) wanted = b.w_length_least;
  return {"length", kept_if(f.length >= wanted), b.weight_length, true,
          say("%.1f weeks long (%d sessions); at least %.1f wanted", f.length / 5.0, f.length, wanted / 5.0)};
}

void handle_rules(const Facts& f, const RuleBook& b, std::vector<RuleResult>& out) {
  out.push_back({"handle-place", kept_if(f.handle_place >= 50), b.weight_handle_place, true,
                 say("the handle's low stands %.0f %% up the cup; the upper half wanted", f.handle_place)});
  out.push_back({"handle-depth", kept_if(f.handle_depth <= b.handle_depth_most), b.weight_handle_depth, false,
                 say("the handle gave back %.1f %%; at most %.0f %% wanted", f.handle_depth, b.handle_depth_most)});
  out.push_back({"handle-volume", kept_if(f.handle_volume <= b.handle_volume_most), b.weight_handle_volume, false,
                 say("volume in the handle was %.0f %% of the 50 sessions before it; light, at most %.0f %%, wanted",
                     f.handle_volume, b.handle_volume_most)});
  out.push_back({"handle-drift", kept_if(f.handle_drift <= 0), b.weight_handle_drift, false,
                 say("closes in the handle %s %.1f %%; down or sideways wanted",
                     f.handle_drift > 0 ? "rise" : "drift down", f.handle_drift > 0 ? f.handle_drift : -f.handle_drift)});
  out.push_back({"round", kept_if(f.bottom_sessions >= b.bottom_sessions_least), b.weight_round, false,
                 say("%d closes in the cup's lower third; a round bottom has at least %d", f.bottom_sessions,
                     b.bottom_sessions_least)});
}

RuleResult flat_place(const Facts& f, const RuleBook& b) {
  return {"place", kept_if(f.place >= 50), b.weight_flat_place, false,
          say("the last close stands %.0f %% up the base; the upper half wanted", f.place)};
}

RuleResult undercut(const Facts& f, const RuleBook& b) {
  return {"undercut", kept_if(f.undercut >= 0), b.weight_undercut, false,
          say("the second low stands %.1f %% %s the first; under it is better", f.undercut < 0 ? -f.undercut : f.undercut,
              f.undercut < 0 ? "above" : "under")};
}

void volume_rules(const Facts& f, const RuleBook& b, std::vector<RuleResult>& out) {
  const bool known = f.normal_volume > 0;
  out.push_back({"dry-up", known ? kept_if(f.quiet <= b.quiet_most) : Verdict::unknown, b.weight_quiet, false,
                 known ? say("the quietest five sessions had %.0f %% of normal volume; at most %.0f %% wanted", f.quiet,
                             b.quiet_most)
                       : say("no volume is known, so a dry-up cannot be judged")});
  out.push_back({"up-down", f.up_down ? kept_if(*f.up_down >= b.up_down_least) : Verdict::unknown, b.weight_up_down,
                 false,
                 f.up_down ? say("up days had %.2f times the volume of down days in 50 sessions; at least %.2f wanted",
                                 *f.up_down, b.up_down_least)
                           : say("no day closed lower with volume, so up and down volume cannot be compared")});
}

RuleResult strength(const Facts& f, const RuleBook& b) {
  if (!f.strength)
    return {"strength", Verdict::unknown, b.weight_strength, false, "no index to measure relative strength against"};
  return {
      "strength", kept_if(f.strength->place >= b.strength_place_least), b.weight_strength, false,
      say("the relative strength line stands %.0f %% up its last %d sessions%s; at least %.0f %% wanted",
          f.strength->place, f.strength->sessions, f.strength->at_high ? ", at their high" : "", b.strength_place_least)};
}

void add_up(Judgement& out) {
  std::string lost, unjudged;
  for (const RuleResult& rule : out.rules) {
    if (rule.verdict == Verdict::unknown) {
      unjudged += (unjudged.empty() ? "" : ", ") + std::string(rule.name);
      continue;
    }
    out.points_most += rule.weight;
    if (rule.core && rule.verdict == Verdict::broken) out.core_kept = false;
    if (rule.verdict == Verdict::kept) out.points += rule.weight;
    if (rule.verdict == Verdict::broken)
      lost += (lost.empty() ? "" : ", ") + std::string(rule.name) + " " + std::to_string(rule.weight);
  }
  out.score = out.points_most > 0 ? 100.0 * out.points / out.points_most : 0;
  out.explained = say("score %.0f: %d of %d points", out.score, out.points, out.points_most);
  if (!lost.empty()) out.explained += "; lost: " + lost;
  if (!unjudged.empty()) out.explained += "; not judged: " + unjudged;
}

}  // namespace

Judgement judge(const Facts& facts, const RuleBook& book) {
  Judgement out;
  out.rules = {prior_rise(facts, book), depth(facts, book), length(facts, book)};
  if (facts.kind == BaseKind::cup_with_handle) handle_rules(facts, book, out.rules);
  if (facts.kind == BaseKind::flat_base) out.rules.push_back(flat_place(facts, book));
  if (facts.kind == BaseKind::double_bottom) out.rules.push_back(undercut(facts, book));
  volume_rules(facts, book, out.rules);
  out.rules.push_back(strength(facts, book));
  add_up(out);
  return out;
}

}  // namespace brimwatch
