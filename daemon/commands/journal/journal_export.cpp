#include "commands/journal/journal_export.h"

#include <algorithm>
#include <limits>
#include <map>
#include <memory>

#include "answers/message.h"
#include "commands/load.h"
#include "core/text/json.h"
#include "core/text/notice_json.h"
#include "journal/print.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

using Take = std::function<bool(const std::string& object)>;
using PrintRows = Status (*)(Journal&, const NoticeQuery&, const Take&);

bool is_asked(const NoticeQuery& query, Date day, const std::string& symbol) {
  const auto [from, to] = std::pair{query.day ? query.day : query.from, query.day ? query.day : query.to};
  return (!from || *from <= day) && (!to || day <= *to) && (query.symbol.empty() || query.symbol == symbol);
}

Status notices(Journal& journal, const NoticeQuery& query, const Take& take) {
  return journal.each_notice(query, [&](const NoticeRecord& record) { return take(to_json(record)); });
}

Status deliveries(Journal& journal, const NoticeQuery& query, const Take& take) {
  return journal.each_delivery(
      query, [&](const DeliveryRow& row, std::chrono::seconds offset) { return take(to_json(row, offset)); });
}

Status answers(Journal& journal, const NoticeQuery& query, const Take& take) {
  const auto all = journal.answers({}, {});
  if (!all) return tl::unexpected(all.error());
  for (const Answer& answer : *all) {
    if (!is_asked(query, answer.day, answer.symbol)) continue;
    std::string object = to_json(answer, std::chrono::seconds{0});
    object.erase(object.find_last_not_of('\n') + 1);
    if (!take(object)) break;
  }
  return {};
}

Status days(Journal& journal, const NoticeQuery& query, const Take& take) {
  return journal.each_day(
      query.day ? query.day : query.from, query.day ? query.day : query.to,
      [&](const DayRecord& record) { return !is_asked(query, record.day, record.symbol) || take(to_json(record)); });
}

Status holes(Journal& journal, const NoticeQuery& query, const Take& take) {
  const auto all =
      journal.holes(Timestamp{std::numeric_limits<Nanos>::min()}, Timestamp{std::numeric_limits<Nanos>::max()});
  if (!all) return tl::unexpected(all.error());
  for (const Hole& hole : *all) {
    const Date day{static_cast<std::int32_t>(hole.from.ns / kDayNanos)};
    if (is_asked(query, day, hole.symbol) && !take(to_json(hole, std::chrono::seconds{0}))) break;
  }
  return {};
}

struct ExportKind {
  const char* name;
  PrintRows print;
  std::vector<std::string_view> columns;
};

const std::vector<ExportKind>& export_kinds() {
  static const std::vector<ExportKind> kKinds{
      {"notices",
       notices,
       {"id",
        "time",
        "day",
        "symbol",
        "kind",
        "pivot",
        "range_top",
        "loss_limit",
        "price",
        "price_before",
        "side",
        "volume",
        "normal_volume",
        "projected_volume",
        "projected_low",
        "projected_high",
        "projected_surge",
        "needed_surge",
        "odds",
        "weight",
        "trend",
        "age_seconds",
        "feed_ratio",
        "held",
        "muted",
        "bought",
        "doubtful",
        "last_today",
        "title",
        "text",
        "note"}},
      {"deliveries",
       deliveries,
       {"delivery_of", "channel", "state", "attempts", "unknown_attempts", "next", "done", "digest", "reply"}},
      {"answers",
       answers,
       {"id", "kind", "who", "at", "time", "day", "symbol", "pivot", "price", "shares", "until", "under_pivot",
        "last_day", "note", "notice"}},
      {"days", days, {"day", "symbol", "volume", "coverage", "open", "high", "low", "close", "half_day"}},
      {"holes", holes, {"feed", "symbol", "from", "to", "why"}},
  };
  return kKinds;
}

/// The end of the JSON text that begins at `at`.
std::size_t end_of_text(std::string_view object, std::size_t at) {
  for (++at; at < object.size() && object[at] != '"'; ++at)
    if (object[at] == '\\') ++at;
  return std::min(at + 1, object.size());
}

std::map<std::string, std::string> values_of(std::string_view object) {
  const auto unquoted = [](std::string_view text) {
    const auto json = Json::parse(text, nullptr, false);
    return json.is_string() ? json.get<std::string>() : std::string();
  };
  std::map<std::string, std::string> values;
  for (std::size_t at = object.find('"'); at < object.size(); at = object.find('"', at)) {
    const std::size_t key_end = end_of_text(object, at);
    const std::string key = unquoted(object.substr(at, key_end - at));
    const std::size_t begin = key_end + 1;  // behind the colon
    const bool is_text = begin < object.size() && object[begin] == '"';
    at = is_text ? end_of_text(object, begin) : std::min(object.find_first_of(",}", begin), object.size());
    const std::string_view value = object.substr(begin, at - begin);
    values[key] = is_text ? unquoted(value) : value == "null" ? "" : std::string(value);
  }
  return values;
}

std::string csv_cell(const std::string& value) {
  if (value.find_first_of(",\"\r\n") == std::string::npos) return value;
  std::string quoted = "\"";
  for (const char c : value) quoted.append(c == '"' ? 2 : 1, c);
  return quoted + "\"";
}

std::string csv_head(const std::vector<std::string_view>& columns) {
  std::string line;
  for (const std::string_view column : columns) line.append(line.empty() ? "" : ",").append(column);
  return line;
}

void run_export(const std::string& path, const NoticeQuery& query, const std::string& name, CommandContext& context) {
  const auto& kinds = export_kinds();
  const auto kind = std::find_if(kinds.begin(), kinds.end(), [&](const ExportKind& one) { return name == one.name; });
  auto journal = Journal::open_read_only(path);
  if (!journal) return void(context.exit = tell(journal.error(), kBadInput));
  bool written = context.json || write_verbatim(stdout, csv_head(kind->columns) + "\n");
  const Status done = kind->print(**journal, query, [&](const std::string& object) {
    written = written && (context.json ? write_json(stdout, object + "\n")
                                       : write_verbatim(stdout, csv_of(object, kind->columns) + "\n"));
    return written;
  });
  if (!done) return void(context.exit = tell(Error{done.error().text + "; what is above could be read"}, kBadInput));
  if (!written || std::fflush(stdout) != 0)
    return void(context.exit = tell(Error{"standard output cannot be written; the export is not whole"}, kFailed));
  if (const std::string losses = (*journal)->losses(); !losses.empty()) context.exit = tell(Error{losses}, kBadInput);
}

}  // namespace

std::string csv_of(std::string_view object, const std::vector<std::string_view>& columns) {
  const auto values = values_of(object);
  std::string line;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (i > 0) line += ',';
    if (const auto found = values.find(std::string(columns[i])); found != values.end()) line += csv_cell(found->second);
  }
  return line;
}

void add_journal_export(CLI::App& journal, const std::function<std::string()>& path,
                        const std::function<std::optional<NoticeQuery>()>& query, CommandContext& context) {
  const auto name = std::make_shared<std::string>();
  CLI::App* const command =
      journal.add_subcommand("export", "Export rows of one kind as CSV; with --json one object a line");
  std::vector<std::string> names;
  for (const ExportKind& kind : export_kinds()) names.emplace_back(kind.name);
  command->add_option("WHAT", *name, "notices, deliveries, answers, days (a stock's day) or holes (of feeds)")
      ->required()
      ->check(CLI::IsMember(names));
  command->fallthrough();
  command->footer(
      "Goes to standard output, also while the daemon runs; --day, --from, --to and --symbol select rows. An export is "
      "for reading; to restore, use a backup.\nExample: brimwatch journal export notices --from 2026-01-01 > "
      "notices.csv");
  command->callback([name, path, query, &context] {
    if (const auto asked = query()) run_export(path(), *asked, *name, context);
  });
}

}  // namespace brimwatch
