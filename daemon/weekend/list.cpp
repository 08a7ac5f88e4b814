#include "weekend/list.h"

#include <cmath>
#include <cstdio>

#include "core/shares.h"

namespace brimwatch {
namespace {

template <typename... Args>
std::string say(const char* format, Args... args) {
  char text[300];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

const char* word(Verdict verdict) {
  switch (verdict) {
    case Verdict::kept:
      return "kept  ";
    case Verdict::broken:
      return "BROKEN";
    case Verdict::unknown:
      return "open  ";
  }
  return "";
}

std::vector<std::string> fact_lines(const Candidate& one) {
  const Facts& f = one.facts;
  std::vector<std::string> out;
  for (const Point& point : f.points) {
    out.push_back(say("%-12s %s  %s", point.name, to_string(point.day).c_str(), to_string(point.price).c_str()));
  }
  out.push_back(say("rose %.0f %% from %s; %.1f %% deep; %.1f weeks", f.prior_rise, to_string(f.rise_from).c_str(),
                    f.depth, f.length / 5.0));
  if (f.kind == BaseKind::cup_with_handle) {
    out.push_back(say("handle: %d sessions, gave back %.1f %%, low %.0f %% up the cup, volume %.0f %%", f.handle_length,
                      f.handle_depth, f.handle_place, f.handle_volume));
  }
  out.push_back(say("normal volume %s; quietest five sessions %.0f %% of it; up/down volume %s",
                    brief(f.normal_volume).c_str(), f.quiet, f.up_down ? say("%.2f", *f.up_down).c_str() : "not known"));
  if (f.strength) {
    out.push_back(say("relative strength line %.0f %% up its last %d sessions%s", f.strength->place, f.strength->sessions,
                      f.strength->at_high ? ", at their high" : ""));
  }
  if (f.index_fall) out.push_back(say("the index fell %.1f %% at most meanwhile", *f.index_fall));
  out.push_back("floor " + to_string(f.floor) + " (a close under it breaks the base)");
  if (!one.adjusted.empty()) out.push_back("history adjusted for: " + one.adjusted);
  if (!one.report.empty()) out.push_back("ATTENTION: " + one.report);
  if (!one.ahead.empty()) out.push_back("ATTENTION, ahead: " + one.ahead);
  return out;
}

std::string distance(const Facts& f) {
  return f.to_pivot >= 0 ? say("%.1f %% above the last close %s", f.to_pivot, to_string(f.last_close).c_str())
                         : say("%.1f %% under the last close %s", -f.to_pivot, to_string(f.last_close).c_str());
}

std::string thousands(int count) {
  std::string digits = std::to_string(count);
  for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3) digits.insert(static_cast<std::size_t>(at), 1, ',');
  return digits;
}

}  // namespace

std::string list_head(Date as_of) {
  return say("%s Watch list from daily bars up to %s. Information, not advice: data may be late or wrong;\n", "#|",
             to_string(as_of).c_str()) +
         "#| look at each chart and check each pivot before you use it.\n"
         "#| Comments that begin with #| and the [brackets] of a note are written anew by `prepare --carry`; the rest is "
         "yours.\n";
}

std::string note_of(const Candidate& one) {
  std::string note = say("[%s, %.0f %% deep, %.0f weeks, score %.0f", std::string(to_string(one.facts.kind)).c_str(),
                         one.facts.depth, std::floor(one.facts.length / 5.0), one.judgement.score);
  if (!one.report.empty()) note += "; " + one.report;
  if (!one.ahead.empty()) note += "; " + one.ahead;
  return note + "]";
}

std::string fact_comments(const Candidate& one) {
  const std::string start = std::string(kOurComment) + " ";
  std::string out = start + std::string(to_string(one.facts.kind)) + " as of " + to_string(one.facts.as_of) + "; pivot " +
                    distance(one.facts) + "\n";
  for (const std::string& line : fact_lines(one)) out += start + "  " + line + "\n";
  for (const RuleResult& rule : one.judgement.rules) out += start + word(rule.verdict) + " " + rule.sentence + "\n";
  return out + start + one.judgement.explained + "\n";
}

std::string toml_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      (out += '\\') += c;
    } else if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
      out += say("\\u%04X", static_cast<unsigned>(static_cast<unsigned char>(c)));
    } else {
      out += c;
    }
  }
  return out += '"';
}

std::string watch_block(const Candidate& one, const RuleBook& book, std::string_view user_note) {
  const Facts& f = one.facts;
  std::string note = note_of(one);
  if (!user_note.empty()) note.append(" ").append(user_note);
  std::string out = "[[watch]]\nsymbol = ";
  out.append(toml_string(one.symbol)).append("\npivot = ").append(to_string(f.pivot)).append("\n");
  if (f.normal_volume >= 1) out += say("normal_volume = %lld\n", std::llround(f.normal_volume));
  out.append("note = ").append(toml_string(note));
  out.append("\nfrom = ")
      .append(to_string(f.as_of + 1))
      .append("\nuntil = ")
      .append(to_string(f.as_of + book.keep_days))
      .append("\n");
  return out + fact_comments(one);
}

std::string watch_list(const Prepared& prepared, const RuleBook& book) {
  std::string out = list_head(prepared.as_of);
  for (const Candidate& one : prepared.candidates) out.append("\n").append(watch_block(one, book));
  return out;
}

std::string overview(const Prepared& prepared) {
  std::string out = say("%-8s %-16s %10s %10s %7s %6s %6s %7s %6s\n", "symbol", "base", "pivot", "close", "to go", "deep",
                        "weeks", "volume", "score");
  for (const Candidate& one : prepared.candidates) {
    const Facts& f = one.facts;
    out += say("%-8s %-16s %10s %10s %6.1f%% %5.0f%% %6.1f %7s %6.0f", one.symbol.c_str(),
               std::string(to_string(f.kind)).c_str(), to_string(f.pivot).c_str(), to_string(f.last_close).c_str(),
               f.to_pivot, f.depth, f.length / 5.0, brief(f.normal_volume).c_str(), one.judgement.score);
    if (!one.report.empty()) out += "  " + one.report;
    if (!one.ahead.empty()) out += "  " + one.ahead;
    out += "\n";
  }
  return out;
}

std::string in_words(const Candidate& one) {
  std::string out = one.symbol + ": " + std::string(to_string(one.facts.kind)) + " as of " + to_string(one.facts.as_of) +
                    ", pivot " + to_string(one.facts.pivot) + ", " + distance(one.facts) + "\n";
  for (const std::string& line : fact_lines(one)) out += "  " + line + "\n";
  for (const RuleResult& rule : one.judgement.rules)
    out += std::string("  ") + word(rule.verdict) + " " + rule.sentence + "\n";
  return out + "  " + one.judgement.explained + "\n";
}

std::string summary(const Prepared& prepared) {
  std::string out = "read " + thousands(prepared.stocks) + " stocks, " + thousands(prepared.bars) + " bars, up to " +
                    to_string(prepared.as_of) + "; " + thousands(prepared.bases) + " shapes, " +
                    thousands(static_cast<int>(prepared.candidates.size())) + " listed";
  const auto add = [&](int count, const char* what) {
    if (count > 0) out += "; " + thousands(count) + " " + what;
  };
  add(prepared.unreadable, "files unreadable");
  add(prepared.stale, "stocks not traded lately");
  add(prepared.too_short, "with too short a history");
  add(prepared.rows_skipped, "rows left out");
  add(prepared.rows_mended, "rows whose high or low was widened to hold open and close");
  return out;
}

}  // namespace brimwatch
