#include "live/restored_state.h"

#include <algorithm>

namespace brimwatch {
namespace {

Status read_days(Journal& journal, Date today, RestoredState& kept) {
  constexpr int kDays = 30;
  for (const SymbolState& state : kept.symbols) {
    const auto days = journal.days(state.symbol, today, kDays);
    if (!days) return tl::unexpected(days.error());
    for (const DayRecord& one : *days) kept.days[state.symbol].push_back(feed_day_of(one));
  }
  return {};
}

}  // namespace

Result<RestoredState> read_kept(Journal& journal, Date today) {
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
  for (const NoticeRecord& one : *said) {
    int& highest = kept.counts[{one.notice.day.days, one.symbol, one.notice.kind}];
    highest = std::max<int>(highest, one.notice.count);
  }
  return kept;
}

}  // namespace brimwatch
