#pragma once
// One machine of a shared house in the simulated world: the real house, the real shared keeper, a journal of its own, its
// own connection to the quotes, and a link to the one log. It is killed, stands still, is cut off, and begins again.
#include <memory>
#include <string>
#include <vector>

#include "live/house.h"
#include "shared/fake_link.h"
#include "shared/shared_keeper.h"
#include "sink.h"
#include "source.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

/// What all machines stand in.
struct Street {
  VirtualTime& time;
  Market& market;
  test::FakeLog& log;
  std::vector<std::unique_ptr<Sink>>& sinks;
  std::shared_ptr<const Calendar> calendar;
  Settings settings;
  Tally& tally;
};

class Machine {
 public:
  /// `name` empty: a house that stands alone, with nothing shared. Files lie in `folder`.
  Machine(Street& street, std::string name, std::string folder, std::uint64_t seed);
  ~Machine();
  Machine(const Machine&) = delete;
  Machine& operator=(const Machine&) = delete;

  void start();
  void kill();
  void stand_still(Nanos span);
  void hand_over();
  [[nodiscard]] bool is_up() const { return life_ != nullptr; }
  [[nodiscard]] bool has_right() const;
  [[nodiscard]] Role role() const;
  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] Source& source() { return source_; }
  [[nodiscard]] test::FakeLink& link() { return link_; }
  /// What its journal has; for the checks.
  [[nodiscard]] Result<std::unique_ptr<Journal>> journal() const;

 private:
  struct Life;
  Street& street_;
  std::string name_, path_;
  std::uint64_t seed_;
  test::FakeLink link_;
  Source source_;
  bool stands_still_ = false;
  std::unique_ptr<Life> life_;
};

}  // namespace brimwatch::simulation
