#include "live/channel_set.h"

#include <algorithm>
#include <set>

#include "desk/channel_plans.h"

namespace brimwatch {

ChannelSet::ChannelSet(World world) : world_(std::move(world)), dispatcher_({}, world_.seed) {}
ChannelSet::~ChannelSet() = default;

Result<ChannelSet::Made> ChannelSet::make(const std::vector<ChannelSettings>& channels) {
  Made made;
  for (const ChannelSettings& settings : channels) {
    const auto here = lines_.find(name_of(settings));
    if (!settings.enabled || (here != lines_.end() && here->second.settings == settings)) continue;
    auto done = [this](const std::string& which, std::uint64_t ticket, Delivery delivery) {
      world_.post([this, which, ticket, delivery = std::move(delivery)] { on_result(which, ticket, delivery); });
    };
    auto runner = world_.make(settings, std::move(done));
    if (!runner) return fail("channel " + name_of(settings) + ": " + runner.error().text);
    made.push_back({settings, std::move(*runner), {}});
  }
  return made;
}

void ChannelSet::set_channels(const std::vector<ChannelSettings>& channels, const EveningSettings& evening, Made made) {
  std::set<std::string> wanted;
  for (const ChannelSettings& settings : channels)
    if (settings.enabled) wanted.insert(name_of(settings));
  for (Line& line : made) {
    const std::string name = name_of(line.settings);
    dispatcher_.on_result_lost(name, world_.wall());  // the old runner takes it with it
    lines_.insert_or_assign(name, std::move(line));
  }
  std::erase_if(lines_, [&](const auto& entry) { return !wanted.contains(entry.first); });
  dispatcher_.set_channels(plans_of(channels, evening), world_.wall());
}

void ChannelSet::on_written(const std::vector<NoticeRecord>& records) {
  for (const NoticeRecord& record : records) dispatcher_.on_written(record, world_.wall());
}

void ChannelSet::on_acknowledged(const std::string& notice_id) { dispatcher_.on_acknowledged(notice_id, world_.wall()); }

void ChannelSet::on_taken(const std::string& channel, const std::vector<std::string>& notice_ids,
                          const std::string& recipient) {
  dispatcher_.on_taken(channel, notice_ids, recipient);
  keep_changes({});
}

std::optional<Timestamp> ChannelSet::pump() {
  keep_changes(dispatcher_.due(world_.wall()));
  for (const ChannelReport& report : dispatcher_.take_reports()) world_.report(report);
  return dispatcher_.next_wakeup(world_.wall());
}

/// A message goes out only when the journal knows that it is being sent: after a crash its outcome is then known to be
/// unknown.
void ChannelSet::keep_changes(std::vector<Send> then_send) {
  auto changes = dispatcher_.take_changes();
  if (changes.empty() && then_send.empty()) return;
  world_.keep(std::move(changes), [this, sends = std::move(then_send)]() mutable {
    for (Send& send : sends) {
      const std::string channel = send.channel;
      const std::uint64_t ticket = send.ticket;
      const auto line = lines_.find(channel);
      if (line != lines_.end() && line->second.runner->submit(std::move(send))) continue;
      dispatcher_.on_result(channel, ticket, Delivery{Outcome::retry, "the channel is busy", std::nullopt},
                            world_.wall());
    }
  });
}

void ChannelSet::on_result(const std::string& channel, std::uint64_t ticket, const Delivery& delivery) {
  if (const auto line = lines_.find(channel); line != lines_.end()) line->second.last_reply = delivery.reply;
  dispatcher_.on_result(channel, ticket, delivery, world_.wall());
  if (!ending_) pump();
  else note_answers();
}

void ChannelSet::note_answers() {
  ending_ = true;
  keep_changes({});
}

/// A thread whose answer has come is on its way home; on a busy machine that takes a moment, and is no hanging.
bool ChannelSet::stop(std::chrono::milliseconds most) {
  constexpr std::chrono::milliseconds kWayHome{100};
  const auto wait = idle() ? std::max(most, kWayHome) : most;
  bool all_ended = true;
  for (auto& [name, line] : lines_) {
    if (line.runner->stop(wait)) continue;
    all_ended = false;
    world_.log(LogLevel::warning,
               "channel " + name + ": still waiting for the other side; its delivery goes on at the next start",
               {.channel = name});
  }
  return all_ended;
}

bool ChannelSet::idle() const {
  for (const Dispatcher::View& view : dispatcher_.view()) {
    if (view.sending) return false;
  }
  return true;
}

std::vector<ChannelRow> ChannelSet::rows() const {
  std::vector<ChannelRow> rows;
  for (const Dispatcher::View& view : dispatcher_.view()) {
    ChannelRow row;
    row.name = view.channel;
    row.state = view.in_trouble ? "trouble" : view.sending ? "sending" : "ready";
    row.delivered = view.counters.delivered;
    row.retried = view.counters.retried;
    row.dead = view.counters.dead;
    row.expired = view.counters.expired;
    row.unknown = view.counters.unknown;
    row.ended_unknown = view.counters.ended_unknown;
    row.waiting = view.waiting;
    row.in_trouble = view.in_trouble;
    const Timestamp now = world_.wall(), oldest = dispatcher_.oldest_waiting(view.channel, now);
    if (oldest.is_set()) row.oldest_seconds = static_cast<double>(now - oldest) / 1e9;
    if (const auto line = lines_.find(view.channel); line != lines_.end()) {
      row.kind = line->second.settings.kind;
      row.last_reply = line->second.last_reply;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace brimwatch
