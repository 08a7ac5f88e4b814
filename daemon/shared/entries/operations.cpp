#include "shared/entries/operations.h"

#include "shared/entries/view.h"

namespace brimwatch {
namespace {

/// Each part gets those that it writes: as many as it has writes.
template <typename State>
void share_out(const std::vector<State>& states, std::vector<SharedOperation>& parts,
               std::vector<State> SharedOperation::*to) {
  auto state = states.begin();
  for (SharedOperation& part : parts) {
    const auto end = state + static_cast<std::ptrdiff_t>(part.request.writes.size());
    (part.*to).assign(state, end);
    state = end;
  }
}

}  // namespace

SharedOperation SharedWriter::fenced() const {
  SharedOperation operation;
  operation.request.conditions.push_back({keys_.leader(), mark_.token});
  operation.request.ranges.push_back({keys_.leader()});
  return operation;
}

SharedOperation SharedWriter::notice(const NoticeRecord& record, const WatchState* watch,
                                     const std::vector<std::string>& channels) const {
  SharedOperation operation = fenced();
  const std::string key = keys_.notice(record.id);
  operation.notice = {record, mark_};
  operation.request.conditions.push_back({key, 0});
  operation.request.ranges.push_back({key});
  operation.request.writes.push_back({key, to_value(operation.notice, format_)});
  if (watch != nullptr) operation.request.writes.push_back({keys_.watch(watch->symbol, watch->pivot), to_value(*watch)});
  for (const std::string& channel : channels) {
    operation.deliveries.push_back({{.notice_id = record.id, .channel = channel}, mark_});
    operation.request.writes.push_back({keys_.delivery(record.id, channel), to_value(operation.deliveries.back())});
  }
  return operation;
}

std::vector<SharedOperation> SharedWriter::in_parts(std::vector<LogWrite> writes) const {
  std::vector<SharedOperation> parts;
  std::size_t bytes = 0;
  for (LogWrite& write : writes) {
    const std::size_t more = write.key.size() + write.value.size();
    const bool full =
        !parts.empty() && (parts.back().request.writes.size() >= kLogWritesMost || bytes + more > kLogBytesMost);
    if (parts.empty() || full) parts.push_back(fenced()), bytes = 0;
    bytes += more;
    parts.back().request.writes.push_back(std::move(write));
  }
  return parts;
}

std::vector<SharedOperation> SharedWriter::watches(const std::vector<WatchState>& states) const {
  std::vector<LogWrite> writes;
  for (const WatchState& state : states) writes.push_back({keys_.watch(state.symbol, state.pivot), to_value(state)});
  std::vector<SharedOperation> parts = in_parts(std::move(writes));
  share_out(states, parts, &SharedOperation::watches);
  return parts;
}

std::vector<SharedOperation> SharedWriter::states(const std::vector<SymbolState>& states) const {
  std::vector<LogWrite> writes;
  for (const SymbolState& state : states) writes.push_back({keys_.state(state.symbol), to_value(state)});
  std::vector<SharedOperation> parts = in_parts(std::move(writes));
  share_out(states, parts, &SharedOperation::symbols);
  return parts;
}

std::vector<SharedOperation> SharedWriter::deliveries(const std::vector<DeliveryRow>& rows) const {
  std::map<std::string, LogWrite> last;  // a key once in a transaction
  std::map<std::string, SharedDelivery> known;
  for (const DeliveryRow& row : rows) {
    const std::string key = keys_.delivery(row.notice_id, row.channel);
    known[key] = {row, mark_};
    last[key] = {key, to_value(known[key])};
  }
  std::vector<LogWrite> writes;
  for (auto& [key, write] : last) writes.push_back(std::move(write));
  std::vector<SharedOperation> parts = in_parts(std::move(writes));
  for (SharedOperation& part : parts)
    for (const LogWrite& write : part.request.writes) part.deliveries.push_back(known[write.key]);
  return parts;
}

SharedOperation SharedWriter::upload(const NoticeRecord& record, const std::vector<DeliveryRow>& rows,
                                     const WatchState* watch) const {
  SharedOperation operation;
  const std::string key = keys_.notice(record.id);
  operation.notice = {record, mark_};
  if (watch != nullptr) operation.notice.watch = *watch;
  operation.request.conditions.push_back({key, 0});
  operation.request.ranges.push_back({key});
  operation.request.writes.push_back({key, to_value(operation.notice, format_)});
  for (const DeliveryRow& row : rows) {
    operation.deliveries.push_back({row, mark_});
    operation.request.writes.push_back(
        {keys_.delivery(row.notice_id, row.channel), to_value(operation.deliveries.back())});
  }
  return operation;
}

SharedOperation SharedWriter::forget_before(Date day, Date first_answers) const {
  SharedOperation operation = fenced();
  const std::string first = first_id_of(day);
  const auto remove = [&](const std::string& from, const std::string& until) {
    LogWrite write{.key = from, .value = {}};
    write.remove = true, write.until = until;
    operation.request.writes.push_back(std::move(write));
  };
  remove(keys_.notice(""), keys_.notice(first));
  remove(keys_.deliveries(), keys_.deliveries() + first);
  remove(keys_.acknowledgement(""), keys_.acknowledgement(first));
  remove(keys_.answers(), keys_.answer(first_answers, ""));
  return operation;
}

SharedOperation answer_operation(const SharedKeys& keys, const SharedAnswer& one, Revision since) {
  SharedOperation operation;
  const std::string key = keys.answer(one.answer.day, one.answer.id);
  operation.request.conditions.push_back({key, 0});
  operation.request.writes.push_back({key, to_value(one)});
  operation.request.ranges.push_back({keys.answers(), SharedKeys::past(keys.answers()), since});
  return operation;
}

SharedOperation acknowledgement(const SharedKeys& keys, const SharedAcknowledgement& one) {
  SharedOperation operation;
  const std::string key = keys.acknowledgement(one.notice_id);
  operation.request.conditions.push_back({key, 0});
  operation.request.writes.push_back({key, to_value(one)});
  return operation;
}

}  // namespace brimwatch
