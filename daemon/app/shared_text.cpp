#include "app/shared_text.h"

#include <algorithm>
#include <utility>

namespace brimwatch {

void SharedText::get(const std::shared_ptr<Body>& body, Taker taker) {
  if (body->text != nullptr && body->steady() < body->until) return taker(body->text);
  body->waiting.push_back(std::move(taker));
  if (body->waiting.size() > 1) return;  // it is being made
  body->gathered = body->steady();
  const auto made = std::make_shared<std::string>();
  body->aside([made, make = body->gather()] { *made = make(); },
              [weak = std::weak_ptr(body), made] {
                if (const auto self = weak.lock()) take(self, made);
              });
}

void SharedText::take(const std::shared_ptr<Body>& body, Text text) {
  const Nanos cost = body->steady() - body->gathered;
  const Nanos keep = body->pace.of_cost > 0 ? std::min(body->pace.keep, cost * body->pace.of_cost) : body->pace.keep;
  body->until = body->gathered + std::max(keep, cost);
  body->text = text;
  for (const Taker& taker : std::exchange(body->waiting, {})) taker(text);
}

}  // namespace brimwatch
