#pragma once
// What a channel needs of the world around it, handed to its maker, so that a test can hand it something else.
#include <chrono>
#include <cstdio>
#include <functional>
#include <memory>
#include <string>

#include "adapters/channel.h"
#include "adapters/push/devices.h"
#include "config/secret.h"
#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

struct ChannelContext {
  /// Fetches a password or signing secret at the moment of use; its error names the source, never the value.
  std::function<Result<Secret>(const SecretSource&)> secret;
  /// Wall time, for signatures and Retry-After dates.
  std::function<std::chrono::sys_seconds()> now;
  /// A person acknowledged a notice through the channel (a button); called from the channel's own thread with the
  /// notice's id, which is not the message's where that is a repetition. May be empty.
  std::function<void(const std::string& notice_id)> acknowledged;
  /// The same, for a person who mutes that notice's watch for an hour.
  std::function<void(const std::string& notice_id)> muted{};
  /// One of several recipients has taken these notices while others are still tried; called from the channel's own
  /// thread, before send() returns. May be empty.
  std::function<void(const std::vector<std::string>& notice_ids, const std::string& recipient)> taken;
  /// Asked before the last bytes of a message; false: it must not arrive. May be empty: always true.
  std::function<bool()> may_send{};
  std::shared_ptr<Devices> devices{};  ///< whom push messages go to; may be empty
  std::FILE* console = stdout;         ///< where the console channel writes
};

/// Makes one kind of channel; the settings are checked already as far as they do not depend on the kind's own syntax.
using MakeChannel = Result<std::unique_ptr<Channel>> (*)(const ChannelSettings& settings, const ChannelContext& context);

}  // namespace brimwatch
