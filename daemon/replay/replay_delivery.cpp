#include "replay/replay_delivery.h"

#include "adapters/channels/table.h"
#include "desk/channel_plans.h"

namespace brimwatch {

Result<ReplayDelivery> ReplayDelivery::open(const std::vector<ChannelSettings>& channels, bool with_console) {
  ReplayDelivery out;
  for (const ChannelSettings& settings : channels) {
    if (!settings.enabled || (settings.kind == "console" && !with_console)) continue;
    auto channel = make_channel(settings);
    if (!channel) return fail(channel.error().text);
    out.wants_pictures_ = out.wants_pictures_ || shows_pictures(settings);
    auto lane =
        shows_pictures(settings) ? pictured(std::move(*channel), out.shelf_, picture_use(settings)) : std::move(*channel);
    out.lanes_.push_back({plans_of({settings}).front(), std::move(lane), 0, 0, {}});
  }
  return out;
}

void ReplayDelivery::send(const NoticeRecord& record, DayPicture picture) {
  shelf_->put(record.id, std::move(picture));
  for (Lane& lane : lanes_) {
    if (!wants(lane.plan, record)) continue;
    Message message;
    message.notices = {record};
    message.id = record.id;
    message.title = record.title;
    message.text = record.text;
    const Delivery delivery = lane.channel->send(message);
    if (delivery.outcome == Outcome::delivered) {
      ++lane.delivered;
    } else {
      ++lane.failed;
      lane.last_failure = delivery.reply;
    }
  }
}

std::vector<std::string> ReplayDelivery::summary() const {
  std::vector<std::string> lines;
  for (const Lane& lane : lanes_) {
    std::string line = "channel " + lane.plan.name + ": " + std::to_string(lane.delivered) + " delivered";
    if (lane.failed > 0) line += ", " + std::to_string(lane.failed) + " not; the last: " + lane.last_failure;
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace brimwatch
