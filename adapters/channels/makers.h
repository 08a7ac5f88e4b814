#pragma once
// The makers that table.cpp lists: one a channel, each defined beside its channel.
#include "adapters/channels/context.h"

namespace brimwatch {

Result<std::unique_ptr<Channel>> make_console(const ChannelSettings& settings, const ChannelContext& context);
Result<std::unique_ptr<Channel>> make_desktop(const ChannelSettings& settings, const ChannelContext& context);
Result<std::unique_ptr<Channel>> make_email(const ChannelSettings& settings, const ChannelContext& context);
Result<std::unique_ptr<Channel>> make_webhook(const ChannelSettings& settings, const ChannelContext& context);
Result<std::unique_ptr<Channel>> make_command(const ChannelSettings& settings, const ChannelContext& context);
Result<std::unique_ptr<Channel>> make_push(const ChannelSettings& settings, const ChannelContext& context);
Result<std::unique_ptr<Channel>> make_mqtt(const ChannelSettings& settings, const ChannelContext& context);

}  // namespace brimwatch
