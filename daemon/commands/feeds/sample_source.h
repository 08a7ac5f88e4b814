#pragma once
// Where the messages for `brimwatch feeds map` come from: a file, a recording of the daemon's, a live address.
#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "adapters/guessing/sample.h"
#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

/// How a live address is asked. Texts may hold {secret}, which is read from the environment and never shown, and
/// {symbols}, {symbols_json} or {symbol}.
struct LiveSample {
  std::string url;  ///< set when one was asked
  std::vector<std::string> headers, hello, symbols;
  std::string subscribe, secret_env, ca_file;
  bool insecure_loopback = false, events = false;
  int seconds = 30, messages = 2000;
  double every = 5;  ///< seconds from one question to the next

  [[nodiscard]] int every_ms() const { return static_cast<int>(every * 1000); }

  /// What the feed in the configuration needs to ask the same.
  void put_into(FeedSettings& settings) const;
};

void add_live_options(CLI::App& command, LiveSample& live);

[[nodiscard]] bool is_address_of_a_source(const std::string& text);

[[nodiscard]] Result<Sample> sample_of_file(const std::string& path);

/// Listens until enough messages have come, or the time is over.
[[nodiscard]] Result<Sample> sample_of_source(const std::string& url, const LiveSample& live);

}  // namespace brimwatch
