#pragma once
// What a feed needs of the world around it. Everything is called on the loop's thread; all of it outlives the feeds.
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "config/secret.h"
#include "config/settings.h"
#include "core/log_sink.h"
#include "core/result.h"
#include "core/symbols.h"
#include "core/text/timestamp.h"

namespace boost::asio {
class io_context;
}

namespace brimwatch {

struct FeedContext {
  boost::asio::io_context& io;
  SymbolTable& symbols;
  std::function<Timestamp()> wall;  ///< for `received`
  std::function<Nanos()> steady;    ///< for ages and silences; never steps
  LogSink log;
  std::function<Result<Secret>(const SecretSource&)> secret;
  std::function<double()> random;  ///< in [0, 1), for jitter
  /// Each step of connecting, once it is done: for whoever tries a feed. Empty in the daemon. Without secrets.
  std::function<void(std::string_view)> step{};
};

}  // namespace brimwatch
