#include "evening/own_bars.h"

#include <algorithm>

#include "bars/faults.h"
#include "crossings/ordinary_move.h"
#include "evening/adjust.h"
#include "evening/lookup.h"
#include "files/daily_file.h"

namespace brimwatch {
namespace {

/// Mean of the stocks' ordinary moves on the eve of their crossings, percent; 0 where none is known.
double usual_move(const ReviewInput& input, int& crossings) {
  double sum = 0;
  int known = 0;
  for (const NoticeRecord& record : input.notices) {
    if (!is_pivot_crossing(record.notice.kind) || record.notice.held || !in_span(input.options, record.notice.day))
      continue;
    ++crossings;
    const auto* bars = bars_of(input, record.symbol);
    if (bars == nullptr) continue;
    const int eve = last_bar_by(*bars, record.notice.day - 1);
    const auto move = eve >= 0 ? ordinary_move(*bars, eve) : std::nullopt;
    if (move) sum += move->percent, ++known;
  }
  return known > 0 ? sum / known : 0;
}

std::vector<std::string> files_in(const std::string& history, std::vector<std::string>& remarks) {
  auto out = daily_files(history);
  if (!out) return {};
  if (out->size() > kMostStocks) {
    remarks.push_back(history + ": holds more than " + std::to_string(kMostStocks) +
                      " files; base rates count that many of them");
    out->resize(kMostStocks);
  }
  return std::move(*out);
}

/// A stock whose bars hold a step that nobody told would count a crossing that nobody could have made.
void add_stock(DailySeries& series, const PriceEvents& events, PlainCrossings& into) {
  if (!series.has_prices || series.bars.empty() || !series.told_symbol.empty()) return;
  const auto found = events.find(series.symbol);
  std::vector<PriceEvent> own = found == events.end() ? std::vector<PriceEvent>{} : found->second;
  for (const SplitOn& split : series.splits) add_split(own, split);
  adjust_bars(series.bars, own);
  BarChecks only_steps{BarTreatment::use, BarTreatment::leave_out, BarTreatment::use, BarTreatment::use,
                       BarTreatment::use, BarTreatment::use,       BarTreatment::use};
  treat(series, BarQuestion{only_steps});
  into.add(series.bars);
}

}  // namespace

BaseRates base_rates_of(const ReviewInput& input, const std::string& history, const PriceEvents& events,
                        std::vector<std::string>& remarks) {
  int crossings = 0;
  const double move = usual_move(input, crossings);
  if (crossings == 0) return {};
  PlainCrossings plain(input.options.from, input.options.to, input.options.cost_percent);
  if (!history.empty()) {
    for (const std::string& path : files_in(history, remarks)) {
      auto all = read_all_daily(path, DailyRows::readable);
      if (!all) continue;
      for (DailySeries& series : *all) add_stock(series, events, plain);
    }
  }
  return plain.rates(move);
}

}  // namespace brimwatch
