#include "app/inside/desk_layout.h"

#include <memory>
#include <utility>

namespace brimwatch {

void lay_out(Chores& chores, Settings settings, const std::function<void(ReadyDesk)>& then) {
  chores.start(
      [settings = std::make_shared<Settings>(std::move(settings)), then]() -> Worker::Answer {
        return [then, ready = std::make_shared<ReadyDesk>(ReadyDesk{{}, Desk::prepare(std::move(*settings)), 0})] {
          then(std::move(*ready));
        };
      },
      [then](const std::string& why) {
        then({{}, fail(why), 0});
      });
}

}  // namespace brimwatch
