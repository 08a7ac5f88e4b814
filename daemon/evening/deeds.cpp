#include "evening/deeds.h"

#include <algorithm>
#include <optional>

#include "core/text/text.h"
#include "core/wording.h"
#include "evening/lookup.h"

namespace brimwatch {
namespace {

/// The last crossing of that watch that was told before the purchase, of the days that are known.
const NoticeRecord* told_before(const ReviewInput& input, const Answer& bought) {
  const NoticeRecord* last = nullptr;
  for (const NoticeRecord& one : input.notices) {
    const bool is_of_it = one.symbol == bought.symbol && is_pivot_crossing(one.notice.kind);
    if (is_of_it && one.notice.time <= bought.time) last = &one;
  }
  return last;
}

/// What whoever holds a stock may have sold it for.
bool is_for_a_holder(NoticeKind kind) {
  return kind == NoticeKind::left_range || kind == NoticeKind::back_inside || kind == NoticeKind::fell_under ||
         kind == NoticeKind::loss_limit || kind == NoticeKind::gain;
}

/// What was told of that stock's price last, from the purchase to the sale.
DeedSale sale_of(const ReviewInput& input, const Answer& bought, const Answer& sold) {
  DeedSale out{.sold = sold};
  for (const NoticeRecord& one : input.notices) {
    const Notice& notice = one.notice;
    const bool is_between = notice.time >= bought.time && notice.time <= sold.time;
    if (one.symbol != sold.symbol || !is_for_a_holder(notice.kind) || !is_between) continue;
    out.told = notice.kind;
    out.notice_id = one.id;
    out.after = sold.time - notice.time;
  }
  return out;
}

Price last_close(const ReviewInput& input, const std::string& symbol) {
  const auto found = input.bars.find(symbol);
  if (found != input.bars.end()) {
    for (auto bar = found->second.rbegin(); bar != found->second.rend(); ++bar)
      if (bar->day <= input.options.to) return bar->close;
  }
  Price close;  // else what the feed made of the day
  for (const auto& [key, day] : input.days)
    if (key.first == symbol && key.second <= input.options.to) close = day.close;
  return close;
}

/// What one purchase has brought so far, as a price a share: each sale takes the same share of every purchase.
class Proceeds {
 public:
  explicit Proceeds(double held) : held_(held) {}
  void buy(Shares shares) { held_ += shares.as_double(); }
  void sell(const Answer& part) {
    const double share = held_ > 0 ? std::min(part.shares.as_double() / held_, 1.0) : 0;
    known_ = known_ && part.price.is_set();
    got_ += left_ * share * part.price.as_double();
    left_ -= left_ * share;
    held_ -= part.shares.as_double();
  }
  [[nodiscard]] std::optional<double> with_rest_at(Price price) const {
    if (!known_ || !price.is_set()) return std::nullopt;
    return got_ + left_ * price.as_double();
  }

 private:
  double held_, left_ = 1, got_ = 0;
  bool known_ = true;
};

/// The answers about one stock up to the purchase and after it, until all of it is sold.
void follow(const ReviewInput& input, std::size_t from, Deed& deed, Proceeds& proceeds) {
  for (std::size_t i = from + 1; i < input.answers.size(); ++i) {
    const Answer& one = input.answers[i];
    if (one.symbol != deed.bought.symbol || one.day > input.options.to) continue;
    if (one.kind == AnswerKind::bought) {
      proceeds.buy(one.shares);
      continue;
    }
    const DeedSale sale = sale_of(input, deed.bought, one);
    if (one.shares == Shares{}) return void(deed.sold = sale);
    deed.parts.push_back(sale);
    proceeds.sell(one);
  }
}

/// Shares held right after that purchase.
double held_after(const ReviewInput& input, std::size_t bought) {
  double held = 0;
  for (std::size_t i = 0; i <= bought; ++i) {
    const Answer& one = input.answers[i];
    if (one.symbol != input.answers[bought].symbol) continue;
    if (one.kind == AnswerKind::bought) held += one.shares.as_double();
    else held = one.shares == Shares{} ? 0 : std::max(held - one.shares.as_double(), 0.0);
  }
  return held;
}

Deed deed_of(const ReviewInput& input, std::size_t at) {
  Deed deed;
  deed.bought = input.answers[at];
  if (const NoticeRecord* told = told_before(input, deed.bought)) {
    deed.notice_id = told->id;
    deed.after = deed.bought.time - told->notice.time;
    deed.inside = deed.bought.price <= told->notice.range_top;
    deed.told = told->notice.price;
  }
  Proceeds proceeds(held_after(input, at));
  follow(input, at, deed, proceeds);
  deed.last = deed.sold ? deed.sold->sold.price : last_close(input, deed.bought.symbol);
  if (const auto got = proceeds.with_rest_at(deed.last)) deed.result = (*got / deed.bought.price.as_double() - 1) * 100;
  return deed;
}

std::string told_text(const Deed& deed) {
  if (deed.notice_id.empty()) return "no crossing had been told";
  return span_text(std::max<Nanos>(deed.after, 0)) + " after its crossing was told at " + to_string(deed.told) +
         (deed.inside ? "" : ", above the buy range");
}

std::string told_before_sale(const DeedSale& sale) {
  if (sale.notice_id.empty()) return {};
  return ", " + span_text(std::max<Nanos>(sale.after, 0)) + " after " + std::string(to_string(sale.told)) + " was told";
}

std::string part_text(const DeedSale& part) {
  return to_string(part.sold.shares) + " sold" + (part.sold.price.is_set() ? " at " + to_string(part.sold.price) : "") +
         " on " + to_string(part.sold.day) + told_before_sale(part) + "; ";
}

std::string end_text(const Deed& deed) {
  const std::string result = deed.result ? ": " + percent_text(*deed.result, 1) : "";
  const std::string rest = deed.parts.empty() ? "" : "the rest ";
  if (!deed.sold)
    return rest +
           (deed.last.is_set() ? "held, last close " + to_string(deed.last) + result : "held, no close is known yet");
  const Answer& sold = deed.sold->sold;
  const std::string told = told_before_sale(*deed.sold);
  if (!sold.price.is_set()) return rest + "sold on " + to_string(sold.day) + told + ", the price was not said";
  return rest + "sold at " + to_string(sold.price) + " on " + to_string(sold.day) + told + result;
}

}  // namespace

std::vector<Deed> deeds_of(const ReviewInput& input) {
  std::vector<Deed> out;
  for (std::size_t i = 0; i < input.answers.size(); ++i) {
    const Answer& one = input.answers[i];
    if (one.kind != AnswerKind::bought || one.day > input.options.to) continue;
    Deed deed = deed_of(input, i);
    if (!deed.sold || deed.sold->sold.day >= input.options.from) out.push_back(std::move(deed));
  }
  return out;
}

std::string deed_text(const Deed& deed) {
  std::string out = clean_line(deed.bought.symbol, 24) + ": bought at " + to_string(deed.bought.price) + " on " +
                    to_string(deed.bought.day);
  if (deed.bought.shares > Shares{}) out += ", " + to_string(deed.bought.shares) + " shares";
  out += ", " + told_text(deed) + "; ";
  for (const DeedSale& part : deed.parts) out += part_text(part);
  return out + end_text(deed);
}

}  // namespace brimwatch
