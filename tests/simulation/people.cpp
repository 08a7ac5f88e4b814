#include "people.h"

namespace brimwatch::simulation {

AnswerRequest People::think_of_one(const Snapshot& view) {
  constexpr const char* kSpans[] = {"hour", "today", "under"};
  const WatchRow& row = view.watches[dice_.below(view.watches.size())];
  AnswerRequest request;
  request.who = "somebody";
  request.symbol = row.symbol;
  request.pivot = to_string(row.pivot);
  switch (dice_.below(8)) {
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
      break;
    }
    case 6:
      request.kind = AnswerKind::sold;
      break;
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
  const AnswerRequest request = think_of_one(view);
  const std::string what = "person: " + std::string(to_string(request.kind));
  life.answer(request, [this, what](const Result<AnswerDone>& done) {
    ++tally_[what + (done ? "" : ", refused")];
    if (done) ledger_.on_answer_kept(done->answer.id);
  });
}

}  // namespace brimwatch::simulation
