#pragma once
// An open file, socket or pipe that is closed with its owner. Moves, never copies.
#include <unistd.h>

#include <utility>

namespace brimwatch {

class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() { close(); }
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    if (this != &other) close(), number_ = std::exchange(other.number_, -1);
    return *this;
  }

  [[nodiscard]] int get() const { return number_; }
  [[nodiscard]] bool is_open() const { return number_ >= 0; }
  /// Gives it away: whoever takes the number closes it.
  [[nodiscard]] int release() { return std::exchange(number_, -1); }
  void close() {
    if (number_ >= 0) ::close(std::exchange(number_, -1));
  }

 private:
  int number_ = -1;
};

}  // namespace brimwatch
