#pragma once
// All channels there are, in one table.
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/channels/context.h"

namespace brimwatch {

/// Makes the channel that `settings.kind` names. An error says which setting is wrong, what was found, what is allowed.
/// What comes back never throws from send(), and its replies are one clean line.
[[nodiscard]] Result<std::unique_ptr<Channel>> make_channel(const ChannelSettings& settings,
                                                            const ChannelContext& context);

/// The same, with wall time and secrets as the program has them and no listener for acknowledgements.
[[nodiscard]] Result<std::unique_ptr<Channel>> make_channel(const ChannelSettings& settings);

/// Why make_channel would refuse, in the words of the kind's own maker, "key: found ..., expected ..."; nothing is sent.
[[nodiscard]] std::vector<std::string> objections_to(const ChannelSettings& settings);

/// A context with wall time and secrets as the program has them.
[[nodiscard]] ChannelContext default_context();

[[nodiscard]] std::vector<std::string_view> channel_kinds();

/// True where the other side is told an id that lets it drop a message it has had before: repeating does no harm there.
[[nodiscard]] bool drops_doubles(std::string_view kind);

}  // namespace brimwatch
