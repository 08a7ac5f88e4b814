#include "weekend/carry.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "weekend/list.h"
#include "weekend/old_list.h"

namespace brimwatch {
namespace {

Price offset_of(const RuleBook& book) { return Price{std::llround(book.offset * kMicrosPerUnit)}; }
Price tick_of(const RuleBook& book) { return Price{std::llround(book.tick_size * kMicrosPerUnit)}; }

/// Since the list was made: when it first traded at the pivot, and when it first closed past the loss limit after that.
struct Since {
  std::optional<Date> crossed, lost;
  double lost_percent = 0;
};

Since since(const std::vector<DailyBar>& bars, Date then, Price pivot, double loss_limit) {
  Since out;
  for (const DailyBar& bar : bars) {
    if (bar.day <= then) continue;
    if (!out.crossed && bar.high >= pivot) out.crossed = bar.day;
    const double under = 100 * (1 - bar.close.as_double() / pivot.as_double());
    if (out.crossed && !out.lost && under >= loss_limit) {
      out.lost = bar.day;
      out.lost_percent = under;
    }
  }
  return out;
}

class Carrier {
 public:
  Carrier(const Prepared& prepared, const PrepareInput& input)
      : prepared_(prepared), input_(input), used_(prepared.candidates.size()) {}

  Carried run(OldList& old) {
    std::string body, gone;
    for (OldWatch& watch : old.watches) {
      const Change change = one(watch);
      const bool off = change.fate == Fate::expired || change.fate == Fate::broke;
      (off ? gone : body) += off ? farewell(watch, change) : watch.text();
      out_.changes.push_back(change);
    }
    for (std::size_t i = 0; i < prepared_.candidates.size(); ++i) {
      if (!used_[i]) body += add(prepared_.candidates[i]);
    }
    out_.list = list_head(prepared_.as_of);
    for (const std::string& line : old.head) out_.list.append(line).append("\n");
    out_.list += body;
    for (const std::string& line : old.tail) out_.list.append(line).append("\n");
    if (!gone.empty()) out_.list.append("\n").append(gone);
    return std::move(out_);
  }

 private:
  const SymbolBars* kept_of(const std::string& symbol) const {
    for (const SymbolBars& kept : prepared_.kept) {
      if (kept.symbol == symbol && !kept.bars.empty()) return &kept;
    }
    return nullptr;
  }

  /// Of the symbol's bases that no watch has taken yet, the one with this pivot, or else the first.
  const Candidate* take(const std::string& symbol, Price pivot) {
    std::size_t best = used_.size();
    for (std::size_t i = 0; i < used_.size(); ++i) {
      const Candidate& one = prepared_.candidates[i];
      if (one.symbol != symbol || used_[i]) continue;
      if (best == used_.size() || one.facts.pivot == pivot) best = i;
    }
    if (best == used_.size()) return nullptr;
    used_[best] = true;
    return &prepared_.candidates[best];
  }

  Change one(OldWatch& watch) {
    Change change{Fate::kept, watch.symbol, watch.pivot, watch.pivot, {}};
    const SymbolBars* kept = kept_of(watch.symbol);
    if (kept == nullptr) {
      change.fate = Fate::unknown;
      change.reason = "no daily bars for it; left as it is";
      return change;
    }
    const std::string terms = bring_to_terms(watch, kept->events, change);
    if (watch.as_of) {
      decide(watch, kept->bars, change);
    } else {
      leave_to_user(watch, change);
    }
    if (change.fate != Fate::moved && change.fate != Fate::renewed) mark_report(watch);
    if (!terms.empty()) {
      change.reason =
          terms + ": pivot from " + to_string(change.before) + " to " + to_string(watch.pivot) + "; " + change.reason;
      if (change.fate == Fate::kept) change.fate = Fate::moved;
    }
    return change;
  }

  /// Splits since the list was made; a watch of the user's own counts from its first day. `events` are those that its
  /// bars were adjusted for, whoever told them.
  std::string bring_to_terms(OldWatch& watch, const std::vector<PriceEvent>& events, Change& change) const {
    const auto made = watch.as_of ? watch.as_of : watch.from;
    if (!made) return {};
    // The floor stands in our comment as it was when the list was made, however often the list has been carried since.
    if (const Terms terms = terms_between(events, *made, prepared_.as_of); watch.floor && !terms.told.empty())
      watch.floor = in_terms(*watch.floor, terms.price_factor, tick_of(input_.book));
    const Terms terms = terms_between(events, watch.terms.value_or(*made), prepared_.as_of);
    if (terms.told.empty()) return {};
    watch.pivot = in_terms(watch.pivot, terms.price_factor, tick_of(input_.book));
    if (watch.normal_volume) {
      watch.set("normal_volume", fmt::format("{}", std::llround(*watch.normal_volume * terms.volume_factor)));
    }
    set_pivot(watch);
    watch.put_terms(prepared_.as_of, terms.told);
    change.after = watch.pivot;
    return terms.told;
  }

  void set_pivot(OldWatch& watch) const {
    if (watch.by_peak) {
      watch.set("peak", to_string(Price{watch.pivot.micros - offset_of(input_.book).micros}));
    } else {
      watch.set("pivot", to_string(watch.pivot));
    }
  }

  void leave_to_user(OldWatch& watch, Change& change) {
    if (watch.until && *watch.until < prepared_.as_of) {
      change.fate = Fate::expired;
      change.reason = "its last day was " + to_string(*watch.until);
      return;
    }
    const Candidate* found = take(watch.symbol, watch.pivot);
    change.reason = "your own watch, left as it is";
    if (found != nullptr && found->facts.pivot != watch.pivot) {
      change.reason += "; the bars show a " + std::string(to_string(found->facts.kind)) + " with pivot " +
                       to_string(found->facts.pivot);
    }
  }

  void decide(OldWatch& watch, const std::vector<DailyBar>& bars, Change& change) {
    const Since then = since(bars, *watch.as_of, watch.pivot, input_.book.loss_limit);
    if (then.lost) {
      change.fate = Fate::broke;
      change.reason = fmt::format("crossed on {}, then closed {:.1f} % under the pivot on {}", to_string(*then.crossed),
                                  then.lost_percent, to_string(*then.lost));
      return;
    }
    if (then.crossed) return keep_crossed(watch, *then.crossed, change);
    if (const Candidate* found = take(watch.symbol, watch.pivot)) return renew(watch, *found, change);
    if (watch.floor && bars.back().close < *watch.floor) {
      change.fate = Fate::broke;
      change.reason =
          "closed at " + to_string(bars.back().close) + ", under the base's floor of " + to_string(*watch.floor);
    } else if (watch.until && *watch.until < prepared_.as_of) {
      change.fate = Fate::expired;
      change.reason = "its last day was " + to_string(*watch.until) + " and no base is found any more";
    } else {
      change.reason = "no base is found by the rules any more, but it did not break either: look at the chart";
    }
  }

  void keep_crossed(OldWatch& watch, Date day, Change& change) {
    change.fate = Fate::crossed;
    change.reason = "traded at the pivot on " + to_string(day);
    if (watch.until && *watch.until < prepared_.as_of) {
      change.fate = Fate::expired;
      change.reason += "; its last day was " + to_string(*watch.until);
    } else if (watch.until) {
      change.reason += "; watched on until " + to_string(*watch.until);
    }
  }

  void renew(OldWatch& watch, const Candidate& found, Change& change) {
    const Facts& f = found.facts;
    change.fate = f.pivot == watch.pivot ? Fate::renewed : Fate::moved;
    change.after = f.pivot;
    const Point& peak = peak_of(f);
    change.reason = change.fate == Fate::renewed ? std::string(to_string(f.kind)) + " goes on, " + kept_of(found)
                                                 : fmt::format("{} with its {} at {} on {}", to_string(f.kind), peak.name,
                                                               to_string(peak.price), to_string(peak.day));
    watch.pivot = f.pivot;
    set_pivot(watch);
    const std::string own = user_part(watch.note);
    watch.set("note", toml_string(own.empty() ? note_of(found) : note_of(found) + " " + own));
    if (watch.normal_volume) watch.set("normal_volume", fmt::format("{}", std::llround(f.normal_volume)));
    watch.set("until", to_string(f.as_of + input_.book.keep_days));
    watch.drop_our_comments();
    while (!watch.lines.empty() && watch.lines.back().empty()) watch.lines.pop_back();
    watch.lines.push_back(fact_comments(found, prepared_.odds));
    watch.lines.back().pop_back();
  }

  static std::string kept_of(const Candidate& found) {
    if (!found.doubts.empty()) return "not judged: " + found.doubts.front();
    return fmt::format("{} of {} rules kept", found.judgement.kept, found.judgement.judged);
  }

  static const Point& peak_of(const Facts& facts) {
    static constexpr std::array<const char*, kBaseKinds> kPeaks = {"handle high", "rim", "middle peak", "high", "high"};
    const char* wanted = kPeaks[static_cast<std::size_t>(facts.kind)];
    return *std::find_if(facts.points.begin(), facts.points.end(),
                         [&](const Point& p) { return std::string_view(p.name) == wanted; });
  }

  /// Puts the report's day into our part of the note, in place of an earlier one.
  void mark_report(OldWatch& watch) const {
    const std::string report = report_warning(input_.reports, watch.symbol, prepared_.as_of, input_.book.report_days);
    std::string ours = our_part(watch.note);
    if (const auto old = ours.find("reports "); old != std::string::npos) ours.erase(old);
    while (ours.ends_with(' ') || ours.ends_with(';')) ours.pop_back();
    if (!report.empty()) ours.append(ours.empty() ? "" : "; ").append(report);
    const std::string own = user_part(watch.note);
    std::string note = ours.empty() ? "" : "[" + ours + "]";
    if (!own.empty()) note.append(note.empty() ? "" : " ").append(own);
    if (note != watch.note) watch.set("note", toml_string(note));
  }

  /// What is left of a watch that is taken off: a line, and the user's words if there were any.
  std::string farewell(const OldWatch& watch, const Change& change) const {
    const std::string own = user_part(watch.note);
    std::string out = own.empty() ? std::string(kOurComment) : std::string("#");
    out.append(" taken off ").append(to_string(prepared_.as_of)).append(": ").append(watch.symbol).append(" ");
    out.append(to_string(change.before)).append(": ").append(change.reason);
    if (!own.empty()) out.append("; your note: ").append(own);
    return out.append("\n");
  }

  std::string add(const Candidate& found) {
    out_.changes.push_back({Fate::added,
                            found.symbol,
                            {},
                            found.facts.pivot,
                            std::string(to_string(found.facts.kind)) + ", " + kept_of(found)});
    return std::string("\n").append(watch_block(found, input_.book));
  }

  const Prepared& prepared_;
  const PrepareInput& input_;
  std::vector<bool> used_;
  Carried out_;
};

}  // namespace

std::string_view to_string(Fate fate) {
  switch (fate) {
    case Fate::kept:
      return "kept";
    case Fate::moved:
      return "moved";
    case Fate::crossed:
      return "crossed";
    case Fate::renewed:
      return "renewed";
    case Fate::expired:
      return "expired";
    case Fate::broke:
      return "broke";
    case Fate::unknown:
      return "unknown";
    case Fate::added:
      return "added";
  }
  return "";
}

Result<std::vector<std::string>> symbols_of(std::string_view old_list, std::string_view name) {
  const auto old = read_old_list(old_list, name, {});
  if (!old) return tl::unexpected(old.error());
  std::vector<std::string> out;
  for (const OldWatch& watch : old->watches) out.push_back(watch.symbol);
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

Result<Carried> carry(std::string_view old_list, std::string_view name, const Prepared& prepared,
                      const PrepareInput& input) {
  auto old = read_old_list(old_list, name, offset_of(input.book));
  if (!old) return tl::unexpected(old.error());
  return Carrier(prepared, input).run(*old);
}

std::string in_words(const std::vector<Change>& changes) {
  std::string out;
  for (const Change& change : changes) {
    std::string pivots = change.before.is_set() ? to_string(change.before) : "";
    if (change.after != change.before) pivots.append(pivots.empty() ? "" : " -> ").append(to_string(change.after));
    out += fmt::format("{:<8} {:<8} {:<20} {}\n", to_string(change.fate), change.symbol, pivots, change.reason);
  }
  return out;
}

}  // namespace brimwatch
