#include "core/large_pages.h"

#include <sys/mman.h>

namespace brimwatch {
namespace {

constexpr std::size_t kLargePage = 2U << 20U;
constexpr std::size_t kLargeFrom = kLargePage / 2;  ///< below, most of the page would be wasted
constexpr std::align_val_t kCacheLine{64};          ///< enough for every type that is kept in one

}  // namespace

void* allocate_large(std::size_t bytes) {
  if (bytes < kLargeFrom) return ::operator new(bytes, kCacheLine);
  const std::size_t whole = (bytes + kLargePage - 1) / kLargePage * kLargePage;
  void* memory = ::operator new (whole, std::align_val_t{kLargePage});
  // A wish: where it is not granted everything works as well, and slower.
  (void)::madvise(memory, whole, MADV_HUGEPAGE);
  return memory;
}

void free_large(void* memory, std::size_t bytes) noexcept {
  if (bytes < kLargeFrom) ::operator delete(memory, kCacheLine);
  else ::operator delete (memory, std::align_val_t{kLargePage});
}

}  // namespace brimwatch
