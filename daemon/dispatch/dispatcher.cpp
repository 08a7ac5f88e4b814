#include "dispatch/dispatcher.h"

#include <algorithm>
#include <map>
#include <utility>

namespace brimwatch {
namespace {

constexpr const char* kGone = "the channel is not configured any more";

/// FNV-1a: each channel has a stream of its own, whatever the others do.
std::uint64_t seed_of(std::uint64_t seed, const std::string& name) {
  for (const char c : name) seed = (seed ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
  return seed;
}

}  // namespace

Dispatcher::Dispatcher(std::vector<ChannelPlan> plans, std::uint64_t seed) : seed_(seed) {
  for (ChannelPlan& plan : plans) add_lane(std::move(plan));
}

void Dispatcher::add_lane(ChannelPlan plan) {
  const std::uint64_t seed = seed_of(seed_, plan.name);
  lanes_.push_back(std::make_unique<Lane>(Lane{ChannelQueue(std::move(plan), seed, changes_), 0}));
}

Dispatcher::Lane* Dispatcher::find(const std::string& channel) {
  const auto lane =
      std::find_if(lanes_.begin(), lanes_.end(), [&](const auto& one) { return one->queue.plan().name == channel; });
  return lane == lanes_.end() ? nullptr : lane->get();
}

std::function<std::vector<std::string>(const NoticeRecord&)> Dispatcher::recipients() const {
  std::vector<ChannelPlan> plans;
  for (const auto& lane : lanes_) plans.push_back(lane->queue.plan());
  return recipients_of(std::move(plans));
}

void Dispatcher::set_channels(std::vector<ChannelPlan> plans, Timestamp now) {
  std::vector<std::unique_ptr<Lane>> old = std::move(lanes_);
  lanes_.clear();
  for (ChannelPlan& plan : plans) {
    const auto kept =
        std::find_if(old.begin(), old.end(), [&](const auto& one) { return one && one->queue.plan().name == plan.name; });
    if (kept == old.end()) {
      add_lane(std::move(plan));
      continue;
    }
    (*kept)->queue.set_plan(std::move(plan));
    lanes_.push_back(std::move(*kept));
  }
  for (const auto& lane : old) {
    if (lane) lane->queue.close(kGone, now);
  }
}

void Dispatcher::take_up(std::vector<OpenDelivery> open, Timestamp now) {
  std::map<std::string, std::vector<OpenDelivery>> by_channel;
  for (OpenDelivery& one : open) by_channel[one.row.channel].push_back(std::move(one));
  for (auto& [channel, rows] : by_channel) {
    if (Lane* const lane = find(channel)) {
      lane->queue.take_up(std::move(rows), now);
      continue;
    }
    for (OpenDelivery& one : rows) {
      const bool was_delivered = one.row.state == DeliveryState::delivered;
      const bool may_have_arrived = one.row.state == DeliveryState::sending || one.row.unknowns > 0;
      if (!was_delivered) one.row.state = may_have_arrived ? DeliveryState::unknown : DeliveryState::dead;
      one.row.done = now, one.row.next = {}, one.row.reply = kGone;
      changes_.push_back(std::move(one.row));
    }
  }
}

void Dispatcher::forget() {
  for (const auto& lane : lanes_) lane->queue.forget(), lane->ticket = 0;
  changes_.clear();
}

void Dispatcher::forget(const std::string& notice_id) {
  for (const auto& lane : lanes_) lane->queue.forget(notice_id);
}

void Dispatcher::on_written(const NoticeRecord& record, Timestamp now) {
  for (const auto& lane : lanes_) {
    if (wants(lane->queue.plan(), record)) lane->queue.add(record, now);
  }
}

void Dispatcher::on_taken(const std::string& channel, const std::vector<std::string>& notice_ids,
                          const std::string& recipient) {
  if (Lane* const lane = find(channel)) lane->queue.on_taken(notice_ids, recipient);
}

void Dispatcher::on_acknowledged(const std::string& notice_id, Timestamp now) {
  for (const auto& lane : lanes_) lane->queue.acknowledge(notice_id, now);
}

std::vector<Send> Dispatcher::due(Timestamp now) {
  std::vector<Send> sends;
  for (const auto& lane : lanes_) {
    auto message = lane->queue.due(now);
    if (!message) continue;
    lane->ticket = next_ticket_++;
    sends.push_back({lane->queue.plan().name, lane->ticket, std::move(*message)});
  }
  return sends;
}

void Dispatcher::on_result(const std::string& channel, std::uint64_t ticket, const Delivery& delivery, Timestamp now) {
  Lane* const lane = find(channel);
  if (lane == nullptr || lane->ticket != ticket) return;
  lane->ticket = 0;
  lane->queue.on_result(delivery, now);
}

void Dispatcher::on_result_lost(const std::string& channel, Timestamp now) {
  const Lane* const lane = find(channel);
  if (lane == nullptr || lane->ticket == 0) return;
  on_result(channel, lane->ticket, {Outcome::unknown, "the channel was set up anew meanwhile", {}}, now);
}

std::optional<Timestamp> Dispatcher::next_wakeup(Timestamp now) const {
  std::optional<Timestamp> best;
  for (const auto& lane : lanes_) {
    const auto when = lane->queue.next_wakeup(now);
    if (when && (!best || *when < *best)) best = when;
  }
  return best;
}

std::vector<DeliveryRow> Dispatcher::take_changes() { return std::exchange(changes_, {}); }

std::vector<ChannelReport> Dispatcher::take_reports() {
  std::vector<ChannelReport> reports;
  for (const auto& lane : lanes_) {
    while (auto report = lane->queue.health().take_report()) reports.push_back(std::move(*report));
  }
  return reports;
}

std::vector<Dispatcher::View> Dispatcher::view() const {
  std::vector<View> views;
  for (const auto& lane : lanes_) {
    ChannelQueue& queue = lane->queue;
    views.push_back(
        {queue.plan().name, queue.waiting(), queue.is_sending(), queue.health().in_trouble(), queue.counters()});
  }
  return views;
}

Timestamp Dispatcher::oldest_waiting(const std::string& channel, Timestamp now) const {
  for (const auto& lane : lanes_)
    if (lane->queue.plan().name == channel) return lane->queue.oldest(now);
  return {};
}

}  // namespace brimwatch
