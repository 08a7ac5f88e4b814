#include "shared/uploads.h"

#include <utility>

namespace brimwatch {

void Uploads::add(const NoticeRecord& record) {
  all_[record.id].record = record;
  for (; all_.size() > kMost; ++dropped_) all_.erase(all_.begin());
}

void Uploads::note(const DeliveryRow& row) {
  const auto known = all_.find(row.notice_id);
  if (known != all_.end()) known->second.rows[row.channel] = row;
}

std::vector<std::string> Uploads::ids() const {
  std::vector<std::string> ids;
  for (const auto& [id, one] : all_) ids.push_back(id);
  return ids;
}

const NoticeRecord* Uploads::record(const std::string& notice_id) const {
  const auto known = all_.find(notice_id);
  return known == all_.end() ? nullptr : &known->second.record;
}

std::vector<DeliveryRow> Uploads::rows(const std::string& notice_id, const std::vector<std::string>& channels) const {
  const auto known = all_.find(notice_id);
  std::vector<DeliveryRow> rows;
  for (const std::string& channel : channels) {
    rows.push_back({.notice_id = notice_id, .channel = channel});
    if (known == all_.end()) continue;
    const auto row = known->second.rows.find(channel);
    if (row != known->second.rows.end()) rows.back() = row->second;
  }
  return rows;
}

std::vector<DeliveryRow> Uploads::take(const std::string& notice_id) {
  std::vector<DeliveryRow> rows;
  const auto known = all_.extract(notice_id);
  if (!known.empty())
    for (auto& [channel, row] : known.mapped().rows) rows.push_back(std::move(row));
  return rows;
}

}  // namespace brimwatch
