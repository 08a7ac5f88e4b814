#pragma once
// An allocator for long arrays: the system is asked for large pages behind them (on Linux 2 MiB for 4 KiB), which makes
// filling them several times as fast, for each first touch of a page is a fault. Short arrays go to operator new as ever.
#include <cstddef>
#include <new>
#include <vector>

namespace brimwatch {

/// `bytes` of memory, on large pages from a MiB on where the system has them. Throws std::bad_alloc.
[[nodiscard]] void* allocate_large(std::size_t bytes);
void free_large(void* memory, std::size_t bytes) noexcept;

template <typename T>
struct LargePages {
  using value_type = T;
  LargePages() = default;
  template <typename Other>
  LargePages(const LargePages<Other>&) {}  // NOLINT(google-explicit-constructor): as allocators are to be
  [[nodiscard]] T* allocate(std::size_t count) {
    if (count > static_cast<std::size_t>(-1) / sizeof(T)) throw std::bad_array_new_length();
    return static_cast<T*>(allocate_large(count * sizeof(T)));
  }
  void deallocate(T* memory, std::size_t count) noexcept { free_large(memory, count * sizeof(T)); }
  bool operator==(const LargePages&) const { return true; }
};

template <typename T>
using LongVector = std::vector<T, LargePages<T>>;

}  // namespace brimwatch
