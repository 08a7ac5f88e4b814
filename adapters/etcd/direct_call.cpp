#include "adapters/etcd/direct_call.h"

#include <memory>

#include "adapters/etcd/curl_options.h"

namespace brimwatch {
namespace {

constexpr Nanos kPatience = kSecond;
constexpr std::size_t kAnswerMost = 4096;

std::size_t take_answer(char* data, std::size_t size, std::size_t count, void* user) {
  auto& said = *static_cast<std::string*>(user);
  if (said.size() + size * count > kAnswerMost) return 0;
  said.append(data, size * count);
  return size * count;
}

}  // namespace

std::string ask_directly(const SharedSettings& settings, const std::string& address) {
  const std::unique_ptr<void, void (*)(void*)> handle(curl().easy_init(),
                                                      [](void* one) { curl().easy_cleanup(static_cast<CURL*>(one)); });
  if (handle == nullptr) return {};
  std::string said;
  set_shared_options(handle.get(), settings, address + kDirectPath, kPatience);
  set_option(handle.get(), CURLOPT_HTTPGET, 1L);
  set_option(handle.get(), CURLOPT_WRITEFUNCTION, &take_answer);
  set_option(handle.get(), CURLOPT_WRITEDATA, &said);
  long status = 0;
  const CURLcode code = curl().easy_perform(static_cast<CURL*>(handle.get()));
  if (code == CURLE_OK) curl().easy_getinfo(static_cast<CURL*>(handle.get()), CURLINFO_RESPONSE_CODE, &status);
  return status == 200 ? said : std::string();
}

}  // namespace brimwatch
