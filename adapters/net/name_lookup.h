#pragma once
// Host names to addresses, off the loop: a silent name server holds up only those who ask for a name. One query at
// a time; more than a few waiting ones are refused. Results are cached for a minute.
//
// All on the loop's thread; a handler is never called from within find().
#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "core/result.h"
#include "loop/worker.h"

namespace brimwatch {

class NameLookup {
 public:
  using Addresses = std::vector<std::string>;  ///< "203.0.113.7", "2001:db8::7"; never empty
  using Resolve = std::function<Result<Addresses>(const std::string& host)>;
  using Handler = std::function<void(const Result<Addresses>&)>;

  /// `resolve` blocks as long as it likes; without it, the system's own (getaddrinfo).
  NameLookup(boost::asio::io_context& io, std::chrono::milliseconds deadline, Resolve resolve = {});
  /// The handler is called once, unless this goes first.
  void find(const std::string& host, Handler handler);

 private:
  struct Known {
    Addresses addresses;
    std::chrono::steady_clock::time_point until;
  };
  void on_answer(const std::string& host, const Result<Addresses>& found);

  boost::asio::io_context& io_;
  Resolve resolve_;
  std::chrono::milliseconds deadline_;
  std::map<std::string, Known> known_;
  std::map<std::string, std::vector<Handler>> asked_;  ///< who waits for which name
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);
  Worker worker_;
};

/// Written as an address, so that no name server is asked.
[[nodiscard]] bool is_address(const std::string& host);

}  // namespace brimwatch
