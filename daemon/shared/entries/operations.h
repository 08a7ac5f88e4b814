#pragma once
// What is written to the shared log, as transactions: each compares the leader's token first, so that who does not lead
// writes nothing. Pure.
#include <map>
#include <string>
#include <vector>

#include "adapters/shared_log.h"
#include "journal/journal.h"
#include "shared/entries/keys.h"
#include "shared/entries/values.h"

namespace brimwatch {

/// One transaction, and what is known once it is done.
struct SharedOperation {
  LogRequest request;
  SharedNotice notice{};                     ///< of one that creates a notice; else its id is empty
  std::vector<SharedDelivery> deliveries{};  ///< that it writes
  std::vector<WatchState> watches{};         ///< the same
  std::vector<SymbolState> symbols{};        ///< the same

  [[nodiscard]] bool makes_notice() const { return !notice.record.id.empty(); }
};

class SharedWriter {
 public:
  SharedWriter(const SharedKeys& keys, SharedMark mark, int format)
      : keys_(keys), mark_(std::move(mark)), format_(format) {}

  /// The notice, where nobody has said it yet; with it the watch as it stands after it, and a pending delivery for each
  /// of its channels. The ranges read the leader and the notice.
  [[nodiscard]] SharedOperation notice(const NoticeRecord& record, const WatchState* watch,
                                       const std::vector<std::string>& channels) const;
  /// As many as fit into one transaction each.
  [[nodiscard]] std::vector<SharedOperation> watches(const std::vector<WatchState>& states) const;
  [[nodiscard]] std::vector<SharedOperation> states(const std::vector<SymbolState>& states) const;
  [[nodiscard]] std::vector<SharedOperation> deliveries(const std::vector<DeliveryRow>& rows) const;
  /// What one that was alone has told: created where it is not there yet, whoever leads; that one is told of the watch.
  [[nodiscard]] SharedOperation upload(const NoticeRecord& record, const std::vector<DeliveryRow>& rows,
                                       const WatchState* watch = nullptr) const;
  /// Notices, deliveries and acknowledgements of the days before go, and answers of those before `first_answers`.
  [[nodiscard]] SharedOperation forget_before(Date day, Date first_answers) const;

 private:
  [[nodiscard]] SharedOperation fenced() const;
  [[nodiscard]] std::vector<SharedOperation> in_parts(std::vector<LogWrite> writes) const;

  const SharedKeys& keys_;
  SharedMark mark_;
  int format_;
};

/// What a person has said, whoever leads; and all answers since `since`, so that their order is known at once.
[[nodiscard]] SharedOperation answer_operation(const SharedKeys& keys, const SharedAnswer& one, Revision since);
[[nodiscard]] SharedOperation acknowledgement(const SharedKeys& keys, const SharedAcknowledgement& one);

}  // namespace brimwatch
