#include "adapters/libraries/late_library.h"

#include <dlfcn.h>

#include <stdexcept>

namespace brimwatch {
namespace {

std::string trouble() {
  const char* words = ::dlerror();
  return words == nullptr ? "no reason given" : words;
}

}  // namespace

LateLibrary::LateLibrary(const char* soname) : soname_(soname), handle_(::dlopen(soname, RTLD_NOW | RTLD_LOCAL)) {
  if (handle_ == nullptr) throw std::runtime_error("cannot load " + soname_ + ": " + trouble());
}

void* LateLibrary::find(const char* name) const {
  void* found = ::dlsym(handle_, name);
  if (found == nullptr) throw std::runtime_error("cannot use " + soname_ + ": " + trouble());
  return found;
}

}  // namespace brimwatch
