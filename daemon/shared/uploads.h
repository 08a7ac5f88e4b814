#pragma once
// Notices that this machine has told without the log: alone, or because the log had no room. Each goes there with what
// has become of its messages, as soon as the log takes it. Pure.
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "core/delivery.h"
#include "core/notice.h"

namespace brimwatch {

class Uploads {
 public:
  void add(const NoticeRecord& record);
  /// What has become of a message of one of them; of any other it is passed over.
  void note(const DeliveryRow& row);
  [[nodiscard]] bool has(const std::string& notice_id) const { return all_.contains(notice_id); }
  [[nodiscard]] bool is_empty() const { return all_.empty(); }
  [[nodiscard]] std::vector<std::string> ids() const;
  [[nodiscard]] const NoticeRecord* record(const std::string& notice_id) const;
  /// One for each channel, those of which nothing is known as pending.
  [[nodiscard]] std::vector<DeliveryRow> rows(const std::string& notice_id,
                                              const std::vector<std::string>& channels) const;
  /// The log has it: what is known of its messages.
  std::vector<DeliveryRow> take(const std::string& notice_id);
  [[nodiscard]] std::uint64_t dropped() const { return dropped_; }

  static constexpr std::size_t kMost = 10'000;  ///< the oldest go

 private:
  struct One {
    NoticeRecord record;
    std::map<std::string, DeliveryRow> rows;  ///< by channel
  };
  std::map<std::string, One> all_;  ///< by id, which begins with its day
  std::uint64_t dropped_ = 0;
};

}  // namespace brimwatch
