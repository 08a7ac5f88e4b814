#include "session/rules_toml.h"

#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <set>

#include "core/text/text.h"
#include "core/text/toml_guard.h"

namespace brimwatch {
namespace {

/// A table with the file's name beside it; the first problem is kept and the rest of the reading goes on harmlessly.
class Reader {
 public:
  explicit Reader(std::string_view file) : file_(file) {}

  void complain(const toml::source_region& where, const std::string& what) {
    if (!problem_.empty()) return;
    problem_ = std::string(file_) + ":" + std::to_string(where.begin.line) + ":" + std::to_string(where.begin.column) +
               ": " + what + "; the calendar was not loaded";
  }
  [[nodiscard]] const std::string& problem() const { return problem_; }

  void only(const toml::table& table, const std::set<std::string_view>& keys) {
    for (const auto& [key, value] : table) {
      if (!keys.contains(key.str())) complain(key.source(), "unknown key \"" + std::string(key.str()) + "\"");
    }
  }
  std::string text(const toml::table& table, std::string_view key) {
    const auto* node = table.get(key);
    if (node == nullptr) return {};
    if (const auto value = node->value_exact<std::string>()) return *value;
    complain(node->source(), std::string(key) + ": expected a text");
    return {};
  }
  int number(const toml::table& table, std::string_view key, int otherwise) {
    const auto* node = table.get(key);
    if (node == nullptr) return otherwise;
    if (const auto value = node->value_exact<std::int64_t>(); value && *value > -10'000 && *value < 10'000) {
      return static_cast<int>(*value);
    }
    complain(node->source(), std::string(key) + ": expected a whole number");
    return otherwise;
  }
  bool flag(const toml::table& table, std::string_view key) {
    const auto* node = table.get(key);
    if (node == nullptr) return false;
    if (const auto value = node->value_exact<bool>()) return *value;
    complain(node->source(), std::string(key) + ": expected true or false");
    return false;
  }
  /// Minutes after midnight from "hh:mm".
  std::optional<int> clock(const toml::node* node) {
    if (node == nullptr) return std::nullopt;
    const auto value = node->value_exact<std::string>();
    int hour = 0, minute = 0;
    char colon = 0, rest = 0;
    if (value && value->size() == 5 && std::sscanf(value->c_str(), "%2d%c%2d%c", &hour, &colon, &minute, &rest) == 3 &&
        colon == ':' && hour >= 0 && hour < 24 && minute >= 0 && minute < 60) {
      return hour * 60 + minute;
    }
    complain(node->source(), "expected a time such as \"09:30\"");
    return std::nullopt;
  }
  Date date(const toml::table& table, std::string_view key) {
    const auto day = parse_date(text(table, key));
    if (!day) complain(table.source(), std::string(key) + ": expected a date such as \"2026-11-27\"");
    return day.value_or(Date{});
  }
  unsigned weekday(const toml::node& node) {
    constexpr std::array<std::string_view, 7> kNames{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
    const auto value = node.value_exact<std::string>();
    for (unsigned i = 0; value && i < 7; ++i) {
      if (*value == kNames[i]) return i;
    }
    complain(node.source(), "expected one of Sun Mon Tue Wed Thu Fri Sat");
    return 0;
  }
  void month_day(const toml::table& table, std::string_view key, DayRule& rule) {
    const auto day = parse_date("2004-" + text(table, key));  // a leap year
    if (!day) return complain(table.source(), std::string(key) + ": expected month and day such as \"12-25\"");
    rule.month = static_cast<unsigned>(day->ymd().month());
    rule.day = static_cast<unsigned>(day->ymd().day());
  }
  /// Calls `use` with each table of an array of tables.
  template <typename Use>
  void each(const toml::table& table, std::string_view key, Use use) {
    const auto* node = table.get(key);
    if (node == nullptr) return;
    const auto* rows = node->as_array();
    if (rows == nullptr) return complain(node->source(), std::string(key) + ": expected a list of tables");
    for (const auto& row : *rows) {
      if (const auto* inner = row.as_table()) use(*inner);
      else complain(row.source(), std::string(key) + ": expected a table");
    }
  }

 private:
  std::string_view file_;
  std::string problem_;
};

const std::set<std::string_view> kRuleKeys{"name",     "date",    "weekday", "nth",      "month", "before",
                                           "easter",   "equinox", "plus",    "since",    "until", "except",
                                           "observed", "close",   "only",    "or_before"};

void read_kind_of_day(Reader& reader, const toml::table& row, DayRule& rule) {
  if (const auto* weekday = row.get("weekday")) rule.weekday = reader.weekday(*weekday);
  if (row.contains("date")) return reader.month_day(row, "date", rule);
  if (row.contains("before")) {
    rule.by = DayRule::By::weekday_before;
    return reader.month_day(row, "before", rule);
  }
  if (row.contains("easter")) {
    rule.by = DayRule::By::easter;
    rule.easter = reader.number(row, "easter", 0);
    return;
  }
  if (row.contains("equinox")) {
    rule.by = reader.text(row, "equinox") == "autumnal" ? DayRule::By::autumnal_equinox : DayRule::By::vernal_equinox;
    return;
  }
  rule.by = DayRule::By::nth_weekday;
  rule.nth = reader.number(row, "nth", 0);
  rule.month = static_cast<unsigned>(reader.number(row, "month", 0));
  if (rule.nth < -1 || rule.nth == 0 || rule.nth > 5 || rule.month < 1 || rule.month > 12) {
    reader.complain(row.source(),
                    "expected date, before, easter, equinox, or weekday with nth (-1, 1..5) and month (1..12)");
    rule.nth = 1;
    rule.month = 1;
  }
}

Observed observed_of(Reader& reader, const toml::table& row) {
  const std::string word = reader.text(row, "observed");
  if (word.empty() || word == "none") return Observed::none;
  if (word == "nearest") return Observed::nearest;
  if (word == "forward") return Observed::forward;
  if (word == "sunday") return Observed::sunday;
  reader.complain(row.source(), "observed: expected none, nearest, forward or sunday");
  return Observed::none;
}

DayRule read_rule(Reader& reader, const toml::table& row) {
  reader.only(row, kRuleKeys);
  DayRule rule;
  read_kind_of_day(reader, row, rule);
  rule.plus = reader.number(row, "plus", 0);
  rule.since = reader.number(row, "since", 0);
  rule.until = reader.number(row, "until", 9999);
  rule.observed = observed_of(reader, row);
  if (const auto* years = row.get_as<toml::array>("except")) {
    for (const auto& year : *years) rule.except.push_back(static_cast<int>(year.value_or<std::int64_t>(0)));
  }
  return rule;
}

EarlyClose read_early(Reader& reader, const toml::table& row) {
  EarlyClose early;
  early.rule = read_rule(reader, row);
  early.close = reader.clock(row.get("close")).value_or(0);
  early.or_before = reader.flag(row, "or_before");
  if (const auto* only = row.get_as<toml::array>("only")) {
    early.weekdays = 0;
    for (const auto& name : *only) early.weekdays |= 1U << reader.weekday(name);
  }
  return early;
}

constexpr std::string_view kNotAfterOpen = "close: expected a time after the open";

/// Other hours than those of today, in force before a date.
void read_hours(Reader& reader, const toml::table& table, CalendarRules& rules) {
  reader.each(table, "hours", [&](const toml::table& row) {
    reader.only(row, {"before", "open", "close"});
    rules.hours.push_back({reader.date(row, "before"), reader.clock(row.get("open")), reader.clock(row.get("close"))});
  });
  std::size_t at = 0;
  reader.each(table, "hours", [&](const toml::table& row) {  // several rows may speak of one day, so all must be known
    const LocalSession then = regular_session(rules, rules.hours[at++].before - 1);
    if (then.close <= then.open) reader.complain(row.source(), std::string(kNotAfterOpen));
  });
}

void read_early_closes(Reader& reader, const toml::table& table, CalendarRules& rules) {
  int latest_open = rules.open;
  for (const OlderHours& older : rules.hours) latest_open = std::max(latest_open, older.open.value_or(0));
  reader.each(table, "early_close", [&](const toml::table& row) {
    rules.early.push_back(read_early(reader, row));
    if (rules.early.back().close <= latest_open) reader.complain(row.source(), std::string(kNotAfterOpen));
  });
}

/// Could this early close be the day's? One that moves to the session before reaches back over a long weekend.
bool may_shorten(const EarlyClose& early, Date day) {
  constexpr int kLongWeekend = 5;
  const auto at = early.rule.in(static_cast<int>(day.ymd().year()));
  return at && (*at == day || (early.or_before && *at > day && *at - day <= kLongWeekend));
}

/// `usual`: the hours that a day has where it does not give its own.
void read_days(Reader& reader, const toml::table& table, const CalendarRules& usual, CalendarRules& rules) {
  reader.each(table, "day", [&](const toml::table& row) {
    reader.only(row, {"date", "closed", "open", "close", "why"});
    ListedDay listed;
    listed.closed = reader.flag(row, "closed");
    listed.open = reader.clock(row.get("open"));
    listed.close = reader.clock(row.get("close"));
    const Date day = reader.date(row, "date");
    LocalSession session = regular_session(usual, day);
    for (const EarlyClose& early : usual.early)
      if (may_shorten(early, day)) session.close = std::min(session.close, early.close);
    if (!listed.closed && listed.close.value_or(session.close) <= listed.open.value_or(session.open))
      reader.complain(row.source(), std::string(kNotAfterOpen));
    rules.days[day] = listed;
  });
}

void read_top(Reader& reader, const toml::table& table, CalendarRules& rules) {
  reader.only(table,
              {"mic", "zone", "years", "open", "close", "break", "between", "hours", "holiday", "early_close", "day"});
  rules.mic = reader.text(table, "mic");
  rules.zone = reader.text(table, "zone");
  rules.open = reader.clock(table.get("open")).value_or(0);
  rules.close = reader.clock(table.get("close")).value_or(0);
  rules.between = reader.flag(table, "between");
  if (const auto* pause = table.get_as<toml::array>("break"); pause != nullptr && pause->size() == 2) {
    rules.break_start = reader.clock(pause->get(0)).value_or(0);
    rules.break_end = reader.clock(pause->get(1)).value_or(0);
  }
  if (const auto* years = table.get_as<toml::array>("years"); years != nullptr && years->size() == 2) {
    rules.first_year = static_cast<int>((*years)[0].value_or<std::int64_t>(0));
    rules.last_year = static_cast<int>((*years)[1].value_or<std::int64_t>(0));
  }
  if (rules.first_year < 1970 || rules.last_year > 2100 || rules.last_year < rules.first_year) {
    reader.complain(table.source(), "years: expected [first, last] within 1970..2100");
  }
  if (rules.mic.empty() || rules.zone.empty() || rules.close <= rules.open) {
    reader.complain(table.source(), "expected mic, zone, and open before close");
  }
}

Result<toml::table> parse(std::string_view text, std::string_view file) {
  if (const auto trouble = toml_trouble(text)) {
    return fail(std::string(file) + ":" + std::to_string(trouble->line) + ":" + std::to_string(trouble->column) + ": " +
                std::string(trouble->text) + "; the calendar was not loaded");
  }
  try {
    return toml::parse(text, file);
  } catch (const toml::parse_error& problem) {
    return fail(std::string(file) + ":" + std::to_string(problem.source().begin.line) + ":" +
                std::to_string(problem.source().begin.column) + ": " + clean_line(problem.description()) +
                "; the calendar was not loaded");
  }
}

}  // namespace

Result<CalendarRules> parse_calendar(std::string_view text, std::string_view file) {
  const auto table = parse(text, file);
  if (!table) return fail(table.error().text);
  Reader reader(file);
  CalendarRules rules;
  read_top(reader, *table, rules);
  read_hours(reader, *table, rules);
  reader.each(*table, "holiday", [&](const toml::table& row) { rules.holidays.push_back(read_rule(reader, row)); });
  read_early_closes(reader, *table, rules);
  read_days(reader, *table, rules, rules);
  if (!reader.problem().empty()) return fail(reader.problem());
  return rules;
}

Status add_user_days(std::string_view text, std::string_view file, CalendarRules& rules) {
  const auto table = parse(text, file);
  if (!table) return fail(table.error().text);
  Reader reader(file);
  reader.only(*table, {"mic", "day"});
  CalendarRules added;
  const std::string mic = reader.text(*table, "mic");
  CalendarRules any_hours;  // of another calendar the hours are not known here
  any_hours.close = 24 * 60;
  read_days(reader, *table, mic == rules.mic ? rules : any_hours, added);
  if (mic.empty()) reader.complain(table->source(), "mic: expected the calendar's code, such as \"XNYS\"");
  if (!reader.problem().empty()) return fail(reader.problem());
  if (mic != rules.mic) return {};
  for (const auto& [day, listed] : added.days) rules.days[day] = listed;
  return {};
}

}  // namespace brimwatch
