#include "people.h"

#include <algorithm>
#include <iterator>
#include <vector>

namespace brimwatch::simulation {

namespace {

/// Stocks that only people speak of: nothing trades in them.
constexpr const char* kGuests[] = {"GUESTA", "GUESTB", "GUESTC"};
constexpr const char* kPivots[] = {"30.00", "31.50"};

bool is_guest(const std::string& symbol) { return symbol.starts_with("GUEST"); }

}  // namespace

/// The volume of a day belongs to a stock: one of its watches stays, so that the second engine hears of it too.
bool People::may_go(const Snapshot& view, const WatchRow& row) {
  const auto same = [&](const WatchRow& one) { return one.symbol == row.symbol; };
  return is_guest(row.symbol) || std::count_if(view.watches.begin(), view.watches.end(), same) > 1;
}

/// A stock that is new, or a watch that was dropped.
AnswerRequest People::think_of_more() {
  AnswerRequest request;
  request.kind = AnswerKind::add;
  request.symbol = kGuests[dice_.below(std::size(kGuests))];
  request.pivot = kPivots[dice_.below(std::size(kPivots))];
  if (dice_.chance(0.3)) return request;
  std::vector<const Watch*> gone;
  for (const Watch& one : ledger_.given())
    if (!ledger_.watched().contains(one.symbol + " " + to_string(one.pivot))) gone.push_back(&one);
  if (gone.empty()) return request;
  const Watch& back = *gone[dice_.below(gone.size())];
  request.symbol = back.symbol;
  request.pivot = to_string(back.pivot);
  return request;
}

AnswerRequest People::think_of_one(const Snapshot& view) {
  constexpr const char* kSpans[] = {"hour", "today", "under"};
  const WatchRow& row = view.watches[dice_.below(view.watches.size())];
  AnswerRequest request;
  request.symbol = row.symbol;
  request.pivot = to_string(row.pivot);
  switch (dice_.below(11)) {
    case 0:
    case 1:
    case 2:
      request.kind = AnswerKind::mute;
      request.span = kSpans[dice_.below(3)];
      break;
    case 3:
      request.kind = AnswerKind::unmute;
      break;
    case 4:
    case 5: {
      request.kind = AnswerKind::bought;
      const Price near = row.last.is_set() ? row.last : row.pivot;
      request.price = to_string(Price{near.micros * static_cast<std::int64_t>(820 + dice_.below(260)) / 1000});
      if (dice_.chance(0.7)) request.shares = std::to_string(1 + dice_.below(300));
      break;
    }
    case 6:
      request.kind = AnswerKind::sold;
      request.pivot.clear();
      if (dice_.chance(0.5)) request.shares = std::to_string(1 + dice_.below(200));
      break;
    case 7:
    case 8:
      return think_of_more();
    case 9:
      if (may_go(view, row)) {
        request.kind = AnswerKind::drop;
        break;
      }
      return think_of_more();
    default:
      request.kind = AnswerKind::acknowledge;
      request.pivot.clear();
  }
  return request;
}

void People::answer(Life& life) {
  if (life.stage() == Stage::starting) return;
  const Snapshot view = life.house().snapshot();
  if (view.watches.empty()) return;
  AnswerRequest request = think_of_one(view);
  request.who = "somebody";
  const bool in_part = request.kind == AnswerKind::sold && !request.shares.empty();
  const std::string what = "person: " + std::string(to_string(request.kind)) + (in_part ? " in part" : "");
  life.answer(request, [this, what](const Result<AnswerDone>& done) {
    ++tally_[what + (done ? "" : ", refused")];
    if (done) ledger_.on_answer_kept(done->answer.id);
  });
}

}  // namespace brimwatch::simulation
