#include "houses/townspeople.h"

#include <algorithm>

#include "answers/book.h"

namespace brimwatch::simulation {

AnswerRequest Townspeople::think_of_one(const Snapshot& view) {
  std::vector<const WatchRow*> rows;
  for (const WatchRow& row : view.watches)
    if (stocks_.contains(row.symbol)) rows.push_back(&row);
  AnswerRequest request{.who = "somebody"};
  request.symbol = *std::next(stocks_.begin(), static_cast<std::ptrdiff_t>(dice_.below(stocks_.size())));
  const WatchRow* const row = rows.empty() ? nullptr : rows[dice_.below(rows.size())];
  const auto near = [&] {
    const Price price = row == nullptr ? Price{50'000'000} : row->last.is_set() ? row->last : row->pivot;
    return to_string(Price{price.micros / 1'000'000 * static_cast<std::int64_t>(900 + dice_.below(200)) * 1000});
  };
  constexpr AnswerKind kKinds[] = {AnswerKind::mute, AnswerKind::mute,   AnswerKind::unmute, AnswerKind::bought,
                                   AnswerKind::sold, AnswerKind::bought, AnswerKind::add,    AnswerKind::drop};
  request.kind = kKinds[dice_.below(8)];
  if (row != nullptr) request.symbol = row->symbol;
  if (row != nullptr && request.kind != AnswerKind::add) request.pivot = to_string(row->pivot);
  if (request.kind == AnswerKind::mute) request.span = dice_.chance(0.5) ? "hour" : "under";
  if (request.kind == AnswerKind::bought) request.price = near();
  if (request.kind == AnswerKind::add) request.pivot = near();
  return request;
}

void Townspeople::answer_at(Machine& machine) {
  if (!machine.is_up()) return;
  const AnswerRequest request = think_of_one(machine.snapshot());
  const std::string what = "person: " + std::string(to_string(request.kind));
  machine.answer(request, [this, what](const std::string& id) {
    ++tally_[what + (id.empty() ? ", refused" : "")];
    if (!id.empty()) kept_.push_back(id);
  });
}

std::vector<std::string> Townspeople::troubles(const std::vector<std::unique_ptr<Machine>>& machines) const {
  std::vector<std::string> wrong;
  std::map<std::string, std::vector<std::string>> first_order;  // ids by stock, as the first machine has them
  for (const auto& machine : machines) {
    const auto journal = machine->journal();
    const auto rows = journal ? (*journal)->answers({}, {}) : Result<std::vector<Answer>>(fail(journal.error().text));
    if (!rows) {
      wrong.push_back(rows.error().text);
      continue;
    }
    std::map<std::string, std::vector<std::string>> order;
    std::set<std::string> ids;
    for (const Answer& one : *rows) order[one.symbol].push_back(one.id), ids.insert(one.id);
    for (const std::string& id : kept_)
      if (!ids.contains(id)) wrong.push_back(machine->name() + " does not know the answer " + id + ", which is kept");
    if (machine == machines.front()) first_order = order;
    for (const auto& [stock, there] : order)
      if (first_order[stock] != there)
        wrong.push_back(machine->name() + " has the answers of " + stock + " in another order");
    if (order.size() != first_order.size()) wrong.push_back(machine->name() + " has answers of other stocks");
  }
  return wrong;
}

}  // namespace brimwatch::simulation
