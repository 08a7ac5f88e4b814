#include "config/secret.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>

#include "config/paths.h"
#include "core/text/percent.h"
#include "core/text/text.h"
#include "files/descriptor.h"

namespace brimwatch {
namespace {

constexpr std::size_t kMost = 65536;

Result<Secret> without_line_end(std::string value, const std::string& where) {
  while (!value.empty() && (value.back() == '\n' || value.back() == '\r')) value.pop_back();
  if (value.empty()) return fail(where + " is empty, expected a secret");
  if (value.find('\0') != std::string::npos) return fail(where + " holds a zero byte, expected text");
  return Secret(std::move(value));
}

Result<Secret> read_all(int fd, const std::string& where) {
  std::string value(kMost + 1, '\0');  // never grows, so that no copy of it stays behind
  std::size_t size = 0;
  while (size < value.size()) {
    const ssize_t got = ::read(fd, value.data() + size, value.size() - size);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return fail(where + " cannot be read: " + std::strerror(errno));
    if (got == 0) break;
    size += static_cast<std::size_t>(got);
  }
  if (size > kMost) return fail(where + " is larger than 64 KiB, expected one secret");
  value.resize(size);
  return without_line_end(std::move(value), where);
}

/// A secret that others can read is none. systemd keeps its credentials readable by the unit's user alone.
Result<Secret> read_file(const std::string& path, const std::string& where, bool check_owner) {
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY));
  if (file.get() < 0) return fail(where + " cannot be opened: " + std::strerror(errno));
  struct stat about {};
  if (::fstat(file.get(), &about) != 0 || !S_ISREG(about.st_mode)) return fail(where + " is not a plain file");
  if (check_owner && about.st_uid != ::geteuid() && about.st_uid != 0) {
    return fail(where + " belongs to another user; expected a file of your own");
  }
  if (check_owner && (about.st_mode & 077U) != 0) {
    return fail(where + " can be read or written by others; expected mode 0600: chmod 600 it");
  }
  return read_all(file.get(), where);
}

Result<Secret> from_environment(const std::string& name) {
  const std::string where = "environment variable " + clean_line(name, 100);
  const char* value = std::getenv(name.c_str());
  if (value == nullptr) return fail(where + " is not set");
  return without_line_end(value, where);
}

Result<Secret> from_credential(const std::string& name) {
  const char* directory = std::getenv("CREDENTIALS_DIRECTORY");
  if (directory == nullptr && about_which() == Instance::system) directory = kSystemCredentials;
  const std::string where = "credential " + clean_line(name, 100);
  if (directory == nullptr)
    return fail(where + ": CREDENTIALS_DIRECTORY is not set; is the unit's LoadCredential= there?");
  if (name.empty() || name.front() == '.' || name.find('/') != std::string::npos) {
    return fail(where + ": expected a plain name without '/'");
  }
  return read_file(std::string(directory) + "/" + name, where, false);
}

}  // namespace

void wipe(char* bytes, std::size_t size) { ::explicit_bzero(bytes, size); }

void wipe(std::string& text) {
  text.resize(text.capacity());
  wipe(text.data(), text.size());
  text.clear();
}

Result<Secret> read_secret(const SecretSource& source) {
  switch (source.kind) {
    case SecretSource::Kind::none:
      return fail("no secret is configured");
    case SecretSource::Kind::environment:
      return from_environment(source.name);
    case SecretSource::Kind::file:
      return read_file(source.name, "secret file " + clean_line(source.name, 200), true);
    case SecretSource::Kind::credential:
      return from_credential(source.name);
  }
  return fail("no secret is configured");
}

std::string without_secret(std::string text, const std::string& secret) {
  if (secret.empty()) return text;
  std::string json;
  append_json_string(json, secret);
  for (const std::string& shape : {secret, json.substr(1, json.size() - 2), percent_encode(secret)}) {
    for (std::size_t at = text.find(shape); at != std::string::npos; at = text.find(shape, at)) {
      text.replace(at, shape.size(), "(secret)");
      at += 8;
    }
  }
  return text;
}

}  // namespace brimwatch
