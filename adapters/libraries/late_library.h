#pragma once
// A shared library that is loaded when it is first needed. libcurl and cairo bring forty others with them: linked with
// the program they make each of its starts twice as long, and most commands need neither.
#include <string>

namespace brimwatch {

class LateLibrary {
 public:
  /// By its soname, from the system's own places. Throws std::runtime_error in words when it is not there; it stays
  /// loaded.
  explicit LateLibrary(const char* soname);

  /// The function of that name; `Function` is a pointer type. Throws std::runtime_error when there is none.
  template <typename Function>
  [[nodiscard]] Function function(const char* name) const {
    return reinterpret_cast<Function>(find(name));
  }

 private:
  [[nodiscard]] void* find(const char* name) const;
  std::string soname_;
  void* handle_;
};

}  // namespace brimwatch
