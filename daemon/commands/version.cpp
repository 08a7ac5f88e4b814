#include "commands/version.h"

#include <fmt/core.h>
#include <openssl/crypto.h>
#include <simdjson.h>
#include <spdlog/version.h>
#include <sqlite3.h>
#include <toml++/impl/version.h>
#include <zlib.h>
#include <zstd.h>

#include <CLI/Version.hpp>
#include <boost/version.hpp>
#include <websocketpp/version.hpp>

#include "adapters/libraries/cairo.h"
#include "adapters/libraries/curl.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

std::string dotted(int major, int minor, int patch) {
  return std::to_string(major) + "." + std::to_string(minor) + "." + std::to_string(patch);
}

std::string compiler() {
#if defined(__clang__)
  return std::string("clang ") + __clang_version__;
#else
  return "g++ " + dotted(__GNUC__, __GNUC_MINOR__, __GNUC_PATCHLEVEL__);
#endif
}

std::string build_line() {
  std::string line = "build: " BRIMWATCH_BUILD_TYPE;
  line += ", " + compiler();
  if (const std::string commit = kBuiltFrom; !commit.empty()) line += ", commit " + commit;
  if (const std::string sanitizers = BRIMWATCH_SANITIZERS; !sanitizers.empty()) line += "\n  sanitizers: " + sanitizers;
  return line;
}

/// The version of a library that is loaded when it is needed, or that it cannot be.
std::string loaded_late(const char* name, const char* (*version)()) {
  try {
    return std::string(name) + " " + version();
  } catch (const std::runtime_error& error) {
    return std::string("no ") + name + " (" + error.what() + ")";
  }
}

std::string linked() {
  const std::string curl_words = loaded_late("libcurl", [] { return curl().version_info(CURLVERSION_NOW)->version; });
  const std::string cairo_words = loaded_late("cairo", [] { return cairo().version_string(); });
  return std::string("running with: SQLite ") + sqlite3_libversion() + ", " + curl_words + ", OpenSSL " +
         OpenSSL_version(OPENSSL_VERSION_STRING) + ",\n  " + cairo_words + ", zlib " + zlibVersion() + ", zstd " +
         ZSTD_versionString();
}

std::string compiled_in() {
  return "compiled with: Boost " + dotted(BOOST_VERSION / 100'000, BOOST_VERSION / 100 % 1000, BOOST_VERSION % 100) +
         ", websocketpp " + dotted(websocketpp::major_version, websocketpp::minor_version, websocketpp::patch_version) +
         ", simdjson " + SIMDJSON_STRINGIFY(SIMDJSON_VERSION) + ",\n  nlohmann-json " +
         dotted(NLOHMANN_JSON_VERSION_MAJOR, NLOHMANN_JSON_VERSION_MINOR, NLOHMANN_JSON_VERSION_PATCH) + ", toml++ " +
         dotted(TOML_LIB_MAJOR, TOML_LIB_MINOR, TOML_LIB_PATCH) + ", spdlog " +
         dotted(SPDLOG_VER_MAJOR, SPDLOG_VER_MINOR, SPDLOG_VER_PATCH) + ", fmt " +
         dotted(FMT_VERSION / 10'000, FMT_VERSION / 100 % 100, FMT_VERSION % 100) + ", CLI11 " CLI11_VERSION;
}

}  // namespace

std::string version_text() {
  return "brimwatch " BRIMWATCH_VERSION "\n" + build_line() + "\n" + linked() + "\n" + compiled_in();
}

}  // namespace brimwatch
