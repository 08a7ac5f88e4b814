#include "answers/request.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "answers/lists.h"
#include "config/one_watch.h"
#include "config/reading/value.h"
#include "config/symbol_meant.h"
#include "core/notice.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr Price kDearest{10'000'000 * kMicrosPerUnit};
constexpr std::size_t kNameMost = 40;
constexpr const char* kUnchanged = "; nothing was changed";

tl::unexpected<Error> refuse(std::string why) { return fail(std::move(why) + kUnchanged); }

std::string name_of(const WatchKey& key) { return key.symbol + " " + to_string(key.pivot); }

class Deciding {
 public:
  Deciding(const AnswerRequest& request, const AnswerScene& scene) : asked_(request), scene_(scene) {}

  Result<Answer> run() {
    begin();
    switch (asked_.kind) {
      case AnswerKind::acknowledge:
        return acknowledge();
      case AnswerKind::mute:
        return mute();
      case AnswerKind::unmute:
        return unmute();
      case AnswerKind::drop:
        return drop();
      case AnswerKind::add:
        return add();
      case AnswerKind::bought:
        return bought();
      case AnswerKind::sold:
        return sold();
    }
    return refuse("unknown answer");
  }

 private:
  void begin() {
    answer_.id = asked_.id;
    answer_.kind = asked_.kind;
    answer_.who = clean_line(asked_.who, kNameMost);
    answer_.at = scene_.wall;
    answer_.time = scene_.now;
    answer_.day = scene_.day;
    answer_.symbol = asked_.symbol;
  }

  [[nodiscard]] tl::unexpected<Error> no_watch() const {
    return refuse("symbol: found " + in_quotes(asked_.symbol) +
                  ", expected one that is watched (`brimwatch watch list`)");
  }

  /// The watch that is meant: by its symbol alone where it has one.
  Status choose_watch() {
    const WatchList& watches = scene_.settings.watches;
    std::vector<Price> pivots;
    for (std::size_t i = 0; i < watches.size(); ++i) {
      if (watches.symbol(i) == asked_.symbol) pivots.push_back(watches.pivot(i));
    }
    if (pivots.empty()) return no_watch();
    std::sort(pivots.begin(), pivots.end());
    if (asked_.pivot.empty() && pivots.size() == 1) return answer_.pivot = pivots.front(), Status();
    const auto wanted = parse_price(asked_.pivot);
    if (wanted && std::find(pivots.begin(), pivots.end(), *wanted) != pivots.end())
      return answer_.pivot = *wanted, Status();
    std::string all;
    for (const Price pivot : pivots) all.append(all.empty() ? "" : ", ").append(to_string(pivot));
    return refuse("pivot: found " + (asked_.pivot.empty() ? "none" : in_quotes(asked_.pivot)) + ", expected " +
                  (pivots.size() > 1 ? "one of " : "") + all);
  }

  [[nodiscard]] static Result<Price> price_in(const std::string& text, const char* what) {
    const auto price = parse_price(text);
    if (price && *price > Price{} && *price <= kDearest) return *price;
    return refuse(std::string(what) + ": found " + in_quotes(text) + ", expected a price such as 48.60");
  }

  /// Neither a slip of the pen nor the price of another stock.
  Status own_price() {
    const auto price = price_in(asked_.price, "price");
    if (!price) return tl::unexpected(price.error());
    answer_.price = *price;
    const Price last = scene_.last_price(asked_.symbol);
    const double off = last.is_set() ? std::abs(price->as_double() / last.as_double() - 1) * 100 : 0;
    if (off <= kOwnPriceMost) return {};
    return refuse("price: found " + to_string(*price) + ", " + percent_from(*price, last) + " from the last price " +
                  to_string(last) + ", expected one within " + std::to_string(kOwnPriceMost) + " % of it");
  }

  Status shares() {
    if (asked_.shares.empty()) return {};
    const auto shares = parse_shares(asked_.shares);
    if (!shares || !(*shares > Shares{}) || *shares > Shares::whole(1'000'000'000))
      return refuse("shares: found " + in_quotes(asked_.shares) + ", expected a number such as 200");
    answer_.shares = *shares;
    return {};
  }

  Result<Answer> acknowledge() {
    if (!asked_.notice.empty()) {
      answer_.notice = asked_.notice;
      return answer_;
    }
    const auto newest = scene_.newest_notice(asked_.symbol);
    if (!newest && watch_of_notice(asked_.symbol)) {
      answer_.notice = std::exchange(answer_.symbol, {});
      return answer_;
    }
    if (!newest)
      return refuse("symbol: found " + in_quotes(asked_.symbol) +
                    ", expected one that something was told of lately, or a notice's id");
    answer_.notice = *newest;
    return answer_;
  }

  Result<Answer> mute() {
    if (const Status chosen = choose_watch(); !chosen) return tl::unexpected(chosen.error());
    if (asked_.span == "hour") answer_.until = scene_.now + kHour;
    else if (asked_.span == "today") answer_.until = scene_.day_end;
    else if (asked_.span == "under") answer_.under_pivot = true;
    else return refuse("for: found " + in_quotes(asked_.span) + ", expected hour, today or under");
    const Price last = scene_.last_price(asked_.symbol);
    if (answer_.under_pivot && last.is_set() && last < answer_.pivot)
      return refuse(name_of({answer_.symbol, answer_.pivot}) + " is under its pivot now, at " + to_string(last) +
                    ", and a mute until then would be over at once");
    return answer_;
  }

  Result<Answer> unmute() {
    if (const Status chosen = choose_watch(); !chosen) return tl::unexpected(chosen.error());
    return answer_;
  }

  Result<Answer> drop() {
    if (const Status chosen = choose_watch(); !chosen) return tl::unexpected(chosen.error());
    const Holding* const held = scene_.book.holding(asked_.symbol);
    if (held != nullptr && held->watch.pivot == answer_.pivot)
      return refuse(name_of(held->watch) + " is the watch of a stock that you said you bought; say `brimwatch sold " +
                    asked_.symbol + "` first");
    return answer_;
  }

  Result<Answer> add() {
    const auto watch = read_one_watch({asked_.symbol, asked_.pivot, asked_.note, asked_.until}, scene_.settings);
    if (!watch) return tl::unexpected(watch.error());
    const WatchList& watches = scene_.settings.watches;
    for (std::size_t i = 0; i < watches.size(); ++i) {
      if (watches.symbol(i) == watch->symbol && watches.pivot(i) == watch->pivot)
        return refuse(name_of({watch->symbol, watch->pivot}) + " is watched already");
    }
    if (watch->until && *watch->until < scene_.day)
      return refuse("until: found " + to_string(*watch->until) + ", expected a day not before today, " +
                    to_string(scene_.day));
    const Price last = scene_.last_price(watch->symbol);
    const double ratio = last.is_set() ? watch->pivot.as_double() / last.as_double() : 1;
    if (ratio > 2 || ratio < 0.5)
      return refuse("pivot: found " + to_string(watch->pivot) + ", with the last price at " + to_string(last) +
                    ", expected one between half and twice that");
    answer_.pivot = watch->pivot;
    answer_.note = watch->note;
    answer_.last_day = watch->until.value_or(Date{});
    return answer_;
  }

  Result<Answer> bought() {
    const Holding* const held = scene_.book.holding(asked_.symbol);
    if (held != nullptr && asked_.pivot.empty()) answer_.pivot = held->watch.pivot;
    else if (const Status chosen = choose_watch(); !chosen) return tl::unexpected(chosen.error());
    if (const Status good = own_price(); !good) return tl::unexpected(good.error());
    if (const Status good = shares(); !good) return tl::unexpected(good.error());
    return answer_;
  }

  Result<Answer> sold() {
    const Holding* const held = scene_.book.holding(asked_.symbol);
    if (held == nullptr)
      return refuse("symbol: found " + in_quotes(asked_.symbol) +
                    ", expected one that you said you bought (`brimwatch holding`)");
    answer_.pivot = held->watch.pivot;
    if (!asked_.pivot.empty() && parse_price(asked_.pivot) != held->watch.pivot)
      return refuse("pivot: found " + in_quotes(asked_.pivot) + ", expected " + to_string(answer_.pivot) +
                    ", by which it is held, or none");
    if (const Status good = asked_.price.empty() ? Status() : own_price(); !good) return tl::unexpected(good.error());
    if (const Status good = part_of(*held); !good) return tl::unexpected(good.error());
    return answer_;
  }

  /// How many of what is held; all of them are all, whatever their number is after a split.
  Status part_of(const Holding& held) {
    if (const Status good = shares(); !good) return good;
    if (answer_.shares == Shares{}) return {};
    const Shares all = scene_.position(held).shares;
    const std::string found = "shares: found " + to_string(answer_.shares) + ", ";
    if (all == Shares{})
      return refuse(found + "but you did not say how many you bought; without a number all of it is sold");
    if (answer_.shares > all) return refuse(found + "expected at most the " + to_string(all) + " that you hold");
    if (answer_.shares == all) answer_.shares = {};
    return {};
  }

  const AnswerRequest& asked_;
  const AnswerScene& scene_;
  Answer answer_;
};

std::string muted_in_words(const Answer& answer, const AnswerScene& scene) {
  if (answer.under_pivot) return " is muted until it is under the pivot again";
  if (answer.until == scene.day_end) return " is muted for the rest of today";
  return " is muted until " + to_clock(answer.until, scene.offset);
}

std::string held_in_words(const Answer& answer, const AnswerScene& scene) {
  const Holding* const held = scene.book.holding(answer.symbol);
  if (held == nullptr) return {};
  const Position position = scene.position(*held);
  const WatchList& watches = scene.settings.watches;
  Rules rules = scene.settings.rules;
  for (std::size_t i = 0; i < watches.size(); ++i) {
    if (watches.symbol(i) == answer.symbol && watches.pivot(i) == answer.pivot) rules = watches.rules(i);
  }
  Levels levels;
  hold_at(levels, position.bought, rules);
  std::string out = answer.symbol + " is held from " + to_string(position.bought);
  if (position.shares > Shares{}) out += ", " + to_string(position.shares) + " shares";
  out += "; loss limit " + to_string(levels.loss);
  std::string gains;
  for (const Price gain : levels.gains) {
    if (gain.is_set()) gains.append(gains.empty() ? ", gains told at " : " and ").append(to_string(gain));
  }
  return out + gains;
}

}  // namespace

/// "2026-11-25/KLVN/48.35/crossed/1"; a symbol may have a slash of its own.
std::optional<WatchKey> watch_of_notice(std::string_view id) {
  std::array<std::string_view, 3> last;  // count, kind, pivot
  for (std::string_view& part : last) {
    const std::size_t slash = id.rfind('/');
    if (slash == std::string_view::npos) return std::nullopt;
    part = id.substr(slash + 1);
    id = id.substr(0, slash);
  }
  const std::size_t day = id.find('/');
  const auto pivot = parse_price(last[2]);
  const bool known = day != std::string_view::npos && day + 1 < id.size() && notice_kind_of(last[1]).has_value();
  if (!known || !pivot || !pivot->is_set()) return std::nullopt;
  return WatchKey{std::string(id.substr(day + 1)), *pivot};
}

Result<Answer> decide(const AnswerRequest& request, const AnswerScene& scene) {
  if (!request.id.empty() && scene.book.knows(request.id)) return refuse("this has been answered already");
  const auto meant =
      request.symbol.empty() && request.kind != AnswerKind::acknowledge ? watch_of_notice(request.notice) : std::nullopt;
  AnswerRequest whole = request;
  whole.symbol = symbol_meant(scene.settings.watches, request.symbol);
  if (meant) whole.symbol = meant->symbol, whole.pivot = to_string(meant->pivot);
  return Deciding(whole, scene).run();
}

std::string in_words(const Answer& answer, const AnswerScene& scene) {
  const std::string name = name_of({answer.symbol, answer.pivot});
  switch (answer.kind) {
    case AnswerKind::acknowledge:
      return "acknowledged " + answer.notice;
    case AnswerKind::mute:
      return name + muted_in_words(answer, scene);
    case AnswerKind::unmute:
      return name + " is not muted";
    case AnswerKind::drop:
      return name + " is no longer watched; your own lists stay as they are";
    case AnswerKind::add:
      return name + " is watched" + (answer.last_day == Date{} ? "" : " until " + to_string(answer.last_day));
    case AnswerKind::bought:
      return held_in_words(answer, scene);
    case AnswerKind::sold:
      if (answer.shares > Shares{})
        return to_string(answer.shares) + " shares of " + answer.symbol + " are sold; " + held_in_words(answer, scene);
      return answer.symbol + " is no longer held; " + name +
             (only_held(scene.settings, scene.book, {answer.symbol, answer.pivot})
                  ? " is in no list and is no longer watched"
                  : " is a watch again");
  }
  return {};
}

}  // namespace brimwatch
