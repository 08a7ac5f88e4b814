#include "live/restored_state.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr std::size_t kDays = 30;

Status read_days(Journal& journal, Date today, RestoredState& kept) {
  auto newest = journal.newest_days();
  if (!newest) return tl::unexpected(newest.error());
  for (const auto& [symbol, days] : *newest) {
    std::vector<FeedDay>& into = kept.days[symbol];
    for (const CarriedDay& one : days)
      if (one.day < today) into.push_back({one.day, one.volume.as_double(), one.coverage, one.half_day});
    if (into.size() > kDays) into.erase(into.begin());
  }
  return {};
}

Status read_told(Journal& journal, Date today, RestoredState& kept) {
  NoticeQuery query;
  query.from = today - 1, query.to = today + 1;
  std::map<std::string, std::size_t> places;
  Status read = journal.each_notice(query, [&](const NoticeRecord& record) {
    places[record.id] = kept.told.size();
    kept.told.push_back({record, {}});
    return true;
  });
  if (!read) return read;
  return journal.each_delivery(query, [&](const DeliveryRow& row, std::chrono::seconds) {
    if (const auto place = places.find(row.notice_id); place != places.end())
      kept.told[place->second].rows.push_back(row);
    return true;
  });
}

}  // namespace

Result<RestoredState> read_kept(Journal& journal, Date today, bool with_told) {
  RestoredState kept;
  auto watches = journal.watch_states(std::nullopt);
  if (!watches) return fail(watches.error().text);
  auto symbols = journal.symbol_states(std::nullopt);
  if (!symbols) return fail(symbols.error().text);
  auto open = journal.open_deliveries();
  if (!open) return fail(open.error().text);
  NoticeQuery own;
  own.from = today - 1, own.to = today + 1;
  own.kinds = {NoticeKind::feed_silent, NoticeKind::feed_late, NoticeKind::feed_back, NoticeKind::self_check};
  const auto said = journal.notices(own);
  if (!said) return fail(said.error().text);
  auto answers = journal.answers({}, {});
  if (!answers) return fail(answers.error().text);
  kept.answers = std::move(*answers);
  kept.watches = std::move(*watches), kept.symbols = std::move(*symbols), kept.open = std::move(*open);
  if (const Status status = read_days(journal, today, kept); !status) return tl::unexpected(status.error());
  if (with_told)
    if (const Status status = read_told(journal, today, kept); !status) return tl::unexpected(status.error());
  for (const NoticeRecord& one : *said) {
    int& highest = kept.counts[{one.notice.day.days, one.symbol, one.notice.kind}];
    highest = std::max<int>(highest, one.notice.count);
  }
  return kept;
}

}  // namespace brimwatch
