#include "dispatch/queued_message.h"

#include <algorithm>

#include "core/wording.h"
#include "dispatch/digest_words.h"

namespace brimwatch {
namespace {

std::string title_of_digest(const std::vector<Item>& items) {
  std::vector<const NoticeRecord*> notices;
  notices.reserve(items.size());
  for (const Item& item : items) notices.push_back(&item.record);
  return digest_title(notices);
}

std::string digest_text(const std::vector<Item>& items) {
  std::string text;
  for (const Item& item : items) {
    text += to_clock(item.record.notice.time, item.record.offset) + "  " + item.record.title + "\n";
  }
  return text + "Details: brimwatch journal --day " + to_string(items.front().record.notice.day);
}

/// "Late by 12 min: happened 10:42:07, sent 10:54:11."
std::string lateness(const Item& oldest, Timestamp now) {
  const auto offset = oldest.record.offset;
  return "Late by " + span_text(now - oldest.known_at(now)) + ": happened " +
         to_clock(oldest.record.notice.time, offset) + ", sent " + to_clock(now, offset) +
         ". The price may be elsewhere by now.\n";
}

std::string preface(const QueuedMessage& parcel, const ChannelPlan& plan, const Item& oldest, Timestamp now) {
  std::string text;
  if (parcel.repeat > 0) {
    text += "Said again (" + std::to_string(parcel.repeat + 1) +
            " times by now) until acknowledged: brimwatch journal ack " + oldest.record.id + "\n";
  } else if (oldest.is_late(now)) {
    text += lateness(oldest, now);
  }
  if (parcel.unknowns > 0 && !plan.id_aware) {
    text += "Sent again: it is not known whether it arrived before, so you may have it twice.\n";
  }
  return text;
}

/// Who has every notice of it.
std::vector<std::string> taken_by_of(const QueuedMessage& parcel) {
  std::vector<std::string> all = parcel.items.front().row.taken_by;
  for (const Item& item : parcel.items) {
    const auto& has = item.row.taken_by;
    std::erase_if(all, [&](const std::string& one) { return std::find(has.begin(), has.end(), one) == has.end(); });
  }
  return all;
}

}  // namespace

Timestamp Item::expires(const ChannelPlan& plan, Timestamp now) const {
  return std::max(known_at(now), not_before) + life_of(record.notice.kind, plan);
}

bool QueuedMessage::holds(std::string_view symbol) const {
  return std::any_of(items.begin(), items.end(), [&](const Item& item) { return item.record.symbol == symbol; });
}

bool QueuedMessage::comes_after(const QueuedMessage& other) const {
  return other.items.front().number < items.front().number &&
         std::any_of(items.begin(), items.end(), [&](const Item& item) { return other.holds(item.record.symbol); });
}

bool QueuedMessage::has_urgent() const {
  return std::any_of(items.begin(), items.end(), [](const Item& item) { return is_urgent(item.record.notice.kind); });
}

Timestamp QueuedMessage::expires(const ChannelPlan& plan, Timestamp now) const {
  Timestamp first = items.front().expires(plan, now);
  for (const Item& item : items) first = std::min(first, item.expires(plan, now));
  return first;
}

std::string digest_id(const std::vector<Item>& items) {
  return items.front().record.id + "/and-" + std::to_string(items.size() - 1) + "-more";
}

Message message_of(const QueuedMessage& parcel, const ChannelPlan& plan, Timestamp now) {
  const Item& oldest = *std::min_element(parcel.items.begin(), parcel.items.end(), [now](const Item& a, const Item& b) {
    return a.known_at(now) < b.known_at(now);
  });
  Message message;
  message.id = parcel.id;
  message.attempt = parcel.attempts;
  if (parcel.repeat == 0) message.taken_by = taken_by_of(parcel);
  for (const Item& item : parcel.items) message.notices.push_back(item.record);
  if (oldest.is_late(now)) message.late = std::chrono::seconds{(now - oldest.known_at(now)) / kSecond};
  const NoticeRecord& first = parcel.items.front().record;
  message.title = parcel.is_digest() ? title_of_digest(parcel.items) : first.title;
  const bool played =
      std::any_of(parcel.items.begin(), parcel.items.end(), [](const Item& item) { return is_rehearsal(item.record); });
  if (played && !is_rehearsal(message.title)) message.title.insert(0, kRehearsalMark);
  message.text = preface(parcel, plan, oldest, now) + (parcel.is_digest() ? digest_text(parcel.items) : first.text);
  return message;
}

}  // namespace brimwatch
