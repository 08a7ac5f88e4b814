#include "weekend/list.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "core/shares.h"
#include "weekend/choose.h"

namespace brimwatch {
namespace {

const char* column(Verdict verdict) {
  switch (verdict) {
    case Verdict::kept:
      return "kept      ";
    case Verdict::broken:
      return "BROKEN    ";
    case Verdict::unknown:
      return "not judged";
  }
  return "";
}

std::string volume_line(const Facts& f) {
  const std::string rising =
      f.rising_volume ? fmt::format("volume on rising days {:.2f} times that on falling days", *f.rising_volume)
                      : "rising and falling days cannot be compared";
  return fmt::format("normal volume {}; quietest five sessions {:.0f} % of it; ", brief(f.normal_volume), f.quiet) +
         rising;
}

std::string print_line(const SinglePrint& print, const Facts& f) {
  return fmt::format(
      "ATTENTION: one print may have made the pivot {}: its high stands {:.1f} % over that day's body and its "
      "neighbours; the next high is {} on {}",
      to_string(f.pivot), print.over, to_string(print.next), to_string(print.next_day));
}

void add_shape_lines(const Facts& f, std::vector<std::string>& out) {
  if (f.kind == BaseKind::cup_with_handle) {
    out.push_back(fmt::format("handle: {} sessions, gave back {:.1f} %, middle {:.0f} % up the cup, volume {:.0f} %",
                              f.handle_length, f.handle_depth, f.handle_place, f.handle_volume));
  }
  if (f.kind == BaseKind::double_bottom) {
    out.push_back(fmt::format("second low {:.1f} % {} the first; second leg {:.0f} % of the first",
                              f.undercut < 0 ? -f.undercut : f.undercut, f.undercut < 0 ? "above" : "under",
                              f.second_leg));
  }
}

void add_warnings(const Candidate& one, std::vector<std::string>& out) {
  for (const std::string& doubt : one.doubts) out.push_back("ATTENTION, doubtful bars: " + doubt);
  if (one.facts.print) out.push_back(print_line(*one.facts.print, one.facts));
  if (!one.adjusted.empty()) out.push_back("history adjusted for: " + one.adjusted);
  if (!one.report.empty()) out.push_back("ATTENTION: " + one.report);
  if (!one.ahead.empty()) out.push_back("ATTENTION, ahead: " + one.ahead);
}

std::vector<std::string> fact_lines(const Candidate& one) {
  const Facts& f = one.facts;
  std::vector<std::string> out;
  for (const Point& point : f.points) {
    out.push_back(fmt::format("{:<12} {}  {}", point.name, to_string(point.day), to_string(point.price)));
  }
  out.push_back(fmt::format("rose {:.0f} % from {}; {:.1f} % deep; {:.1f} weeks", f.prior_rise, to_string(f.rise_from),
                            f.depth, f.length / 5.0));
  add_shape_lines(f, out);
  out.push_back(volume_line(f));
  if (f.ten_weeks) out.push_back(fmt::format("mean of the last ten weekly closes {:.2f}", *f.ten_weeks));
  if (f.strength) {
    out.push_back(fmt::format("relative strength line {:.0f} % up its last {} sessions{}", f.strength->place,
                              f.strength->sessions, f.strength->at_high ? ", at their high" : ""));
  }
  if (f.index_fall) out.push_back(fmt::format("the index fell {:.1f} % at most meanwhile, by closes", *f.index_fall));
  out.push_back("floor " + to_string(f.floor) + " (a close under it breaks the base)");
  add_warnings(one, out);
  return out;
}

std::vector<std::string> lines_of(const Candidate& one, const OddsBook& odds) {
  std::vector<std::string> out;
  if (one.outlook) out = outlook_lines(*one.outlook, odds);
  for (std::string& line : fact_lines(one)) out.push_back(std::move(line));
  return out;
}

std::string distance(const Facts& f) {
  return f.to_pivot >= 0 ? fmt::format("{:.1f} % above the last close {}", f.to_pivot, to_string(f.last_close))
                         : fmt::format("{:.1f} % under the last close {}", -f.to_pivot, to_string(f.last_close));
}

std::string thousands(int count) {
  std::string digits = std::to_string(count);
  for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3) digits.insert(static_cast<std::size_t>(at), 1, ',');
  return digits;
}

}  // namespace

std::string list_head(Date as_of) {
  return fmt::format("{} Watch list from daily bars up to {}. Information, not advice: data may be late or wrong;\n",
                     "#|", to_string(as_of)) +
         "#| look at each chart and check each pivot before you use it.\n"
         "#| Comments that begin with #| and the [brackets] of a note are written anew by `prepare --carry`; the rest is "
         "yours.\n";
}

std::string note_of(const Candidate& one) {
  std::string note = fmt::format("[{}, {:.0f} % deep, {:.0f} weeks, ", to_string(one.facts.kind), one.facts.depth,
                                 std::floor(one.facts.length / 5.0));
  note +=
      one.doubts.empty() ? fmt::format("{} of {} rules kept", one.judgement.kept, one.judgement.judged) : "doubtful bars";
  if (!one.report.empty()) note += "; " + one.report;
  if (!one.ahead.empty()) note += "; " + one.ahead;
  return note + "]";
}

std::string fact_comments(const Candidate& one, const OddsBook& odds) {
  const std::string start = std::string(kOurComment) + " ";
  std::string out = start + std::string(to_string(one.facts.kind)) + " as of " + to_string(one.facts.as_of) + "; pivot " +
                    distance(one.facts) + "\n";
  for (const std::string& line : lines_of(one, odds)) out += start + "  " + line + "\n";
  for (const RuleResult& rule : one.judgement.rules) out += start + column(rule.verdict) + " " + rule.sentence + "\n";
  return out + start + one.judgement.explained + "\n";
}

std::string toml_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      (out += '\\') += c;
    } else if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
      out += fmt::format("\\u{:04X}", static_cast<unsigned>(static_cast<unsigned char>(c)));
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
  if (f.normal_volume >= 1) out += fmt::format("normal_volume = {}\n", std::llround(f.normal_volume));
  out.append("note = ").append(toml_string(note));
  out.append("\nfrom = ")
      .append(to_string(f.as_of + 1))
      .append("\nuntil = ")
      .append(to_string(f.as_of + book.keep_days))
      .append("\n");
  return out + fact_comments(one, odds_book(book));
}

std::string watch_list(const Prepared& prepared, const RuleBook& book) {
  std::string out = list_head(prepared.as_of);
  int at = 0;
  bool doubtful = false;
  for (const Candidate& one : prepared.candidates) {
    if (at++ == prepared.near && one.doubts.empty())
      out += fmt::format("\n{} Far: more than {:g} ordinary moves under the pivot\n", kOurComment, book.near);
    if (!one.doubts.empty() && !doubtful)
      out += "\n" + std::string(kOurComment) + " Doubtful bars: nothing of these was judged\n";
    doubtful = !one.doubts.empty();
    out.append("\n").append(watch_block(one, book));
  }
  return out;
}

std::string in_words(const Candidate& one, const OddsBook& odds) {
  std::string out = one.symbol + ": " + std::string(to_string(one.facts.kind)) + " as of " + to_string(one.facts.as_of) +
                    ", pivot " + to_string(one.facts.pivot) + ", " + distance(one.facts) + "\n";
  for (const std::string& line : lines_of(one, odds)) out += "  " + line + "\n";
  for (const RuleResult& rule : one.judgement.rules)
    out += std::string("  ") + column(rule.verdict) + " " + rule.sentence + "\n";
  return out + "  " + one.judgement.explained + "\n";
}

std::string not_listed(const Prepared& prepared) {
  std::string out;
  for (const NotListed& one : prepared.not_listed) out += fmt::format("{:<8} ", one.symbol) + one.reason + "\n";
  return out;
}

std::string summary(const Prepared& prepared) {
  std::string out = "read " + thousands(prepared.stocks) + (prepared.stocks == 1 ? " stock, " : " stocks, ") +
                    thousands(prepared.bars) + " bars" +
                    (prepared.bars > 0 ? ", up to " + to_string(prepared.as_of) : std::string()) + "; " +
                    thousands(prepared.bases) + " shapes, " + thousands(static_cast<int>(prepared.candidates.size())) +
                    " listed, " + thousands(prepared.near) + " of them near";
  const auto add = [&](int count, const char* what) {
    if (count > 0) out += "; " + thousands(count) + " " + what;
  };
  add(prepared.unreadable, "files unreadable");
  add(prepared.stale, "stocks not traded lately");
  add(prepared.too_short, "with too short a history");
  const auto doubtful = std::count_if(prepared.candidates.begin(), prepared.candidates.end(),
                                      [](const Candidate& one) { return !one.doubts.empty(); });
  add(static_cast<int>(doubtful), "listed with doubtful bars, not judged");
  add(prepared.rows_skipped, "rows left out");
  add(prepared.rows_mended, "rows whose high or low was widened to hold open and close");
  return out;
}

}  // namespace brimwatch
