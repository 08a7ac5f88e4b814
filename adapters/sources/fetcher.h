#pragma once
// Fetches past days from a source over HTTP, symbol by symbol and page by page, within its rate, with retries. On the
// loop's thread; nothing here blocks.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/history_settings.h"
#include "config/secret.h"
#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

struct HistoryWish {
  std::string symbol;  ///< empty: all that the source has, in one answer
  Date from, to;
};

/// The pages of one wish, each a text for the reader of daily files.
using HistoryPages = std::vector<std::string>;

class HistoryFetcher {
 public:
  using Done = std::function<void(const HistoryWish& wish, Result<HistoryPages> pages)>;

  struct Counts {
    std::size_t asked = 0, answered = 0, failed = 0;  ///< wishes
    std::size_t requests = 0, refused = 0, again = 0;
  };

  HistoryFetcher(boost::asio::io_context& io, HistorySource source, std::function<Timestamp()> wall);
  ~HistoryFetcher();
  HistoryFetcher(const HistoryFetcher&) = delete;
  HistoryFetcher& operator=(const HistoryFetcher&) = delete;

  /// `done` is called once for each wish, in any order, never from within this. More may be added at any time, also from
  /// `done`. An error text names no secret.
  void start(std::vector<HistoryWish> wishes, Done done);
  void add(HistoryWish wish);
  /// What is under way is dropped without a call.
  void cancel();
  [[nodiscard]] bool is_busy() const;
  [[nodiscard]] const Counts& counts() const;

 private:
  struct Body;
  std::shared_ptr<Body> body_;
};

/// The address for a wish; `page` from 1.
[[nodiscard]] std::string history_address(const HistorySource& source, const HistoryWish& wish, int page,
                                          const std::string& secret);

}  // namespace brimwatch
