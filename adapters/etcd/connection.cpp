#include "adapters/etcd/connection.h"

#include <chrono>
#include <new>

#include "adapters/etcd/curl_options.h"

namespace brimwatch {
namespace {

constexpr std::size_t kBodyMost = 16UL << 20;  ///< a page of 500 entries is far less

Nanos etcd_steady() { return std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count(); }

std::size_t take_reply(char* data, std::size_t size, std::size_t count, void* user) {
  auto& body = *static_cast<std::string*>(user);
  if (body.size() + size * count > kBodyMost) return 0;
  body.append(data, size * count);
  return size * count;
}

}  // namespace

EtcdConnection::~EtcdConnection() {
  if (handle_ != nullptr) curl().easy_cleanup(static_cast<CURL*>(handle_));
}

LogAnswer EtcdConnection::ask(const LogRequest& request) {
  const Nanos until = etcd_steady() + request.patience;
  const GatewayCall call = gateway_call(request);
  LogAnswer failed;
  if (!settings_.user.empty() && token_.empty()) {
    failed.words = take_token(until);
    if (token_.empty()) return failed;
  }
  Reply reply = post(call, until);
  if (!settings_.user.empty() && wants_new_token(reply.status, reply.body)) {
    token_.clear();
    failed.words = take_token(until);
    if (token_.empty()) return failed;
    reply = post(call, until);
  }
  LogAnswer answer = gateway_answer(request, reply.status, reply.body);
  if (reply.status == 0) answer.words = "does not answer: " + reply.words;
  if (answer.outcome == LogAnswer::Outcome::unknown) current_ = (current_ + 1) % settings_.etcd.size();
  return answer;
}

/// Where nothing can have arrived, at once at the next address.
EtcdConnection::Reply EtcdConnection::post(const GatewayCall& call, Nanos until) {
  Reply reply;
  for (std::size_t tried = 0; tried < settings_.etcd.size(); ++tried) {
    const Nanos left = until - etcd_steady();
    if (left <= 0) break;
    reply = post_to(settings_.etcd[current_], call, left);
    if (reply.status != 0 || reply.given) break;
    current_ = (current_ + 1) % settings_.etcd.size();
  }
  return reply;
}

void EtcdConnection::prepare(const std::string& address, const GatewayCall& call, Nanos patience) {
  if (handle_ == nullptr) handle_ = curl().easy_init();
  if (handle_ == nullptr) throw std::bad_alloc();
  const std::string base = address.back() == '/' ? address.substr(0, address.size() - 1) : address;
  set_shared_options(handle_, settings_, base + call.path, patience);
  set_option(handle_, CURLOPT_POST, 1L);
  set_option(handle_, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(call.body.size()));
  set_option(handle_, CURLOPT_POSTFIELDS, call.body.c_str());
}

EtcdConnection::Reply EtcdConnection::post_to(const std::string& address, const GatewayCall& call, Nanos patience) {
  prepare(address, call, patience);
  Reply reply;
  char words[CURL_ERROR_SIZE] = {};
  set_option(handle_, CURLOPT_ERRORBUFFER, words);
  set_option(handle_, CURLOPT_WRITEFUNCTION, &take_reply);
  set_option(handle_, CURLOPT_WRITEDATA, &reply.body);
  curl_slist* headers = curl().slist_append(nullptr, "Content-Type: application/json");
  headers = curl().slist_append(headers, "Expect:");
  if (!token_.empty()) headers = curl().slist_append(headers, ("Authorization: " + token_).c_str());
  set_option(handle_, CURLOPT_HTTPHEADER, headers);
  const CURLcode code = curl().easy_perform(static_cast<CURL*>(handle_));
  if (code == CURLE_OK) curl().easy_getinfo(static_cast<CURL*>(handle_), CURLINFO_RESPONSE_CODE, &reply.status);
  long sent = 0;
  curl().easy_getinfo(static_cast<CURL*>(handle_), CURLINFO_REQUEST_SIZE, &sent);
  reply.given = sent > 0;
  reply.words = words[0] != '\0' ? words : curl().easy_strerror(code);
  set_option(handle_, CURLOPT_HTTPHEADER, static_cast<curl_slist*>(nullptr));
  set_option(handle_, CURLOPT_ERRORBUFFER, static_cast<char*>(nullptr));
  curl().slist_free_all(headers);
  return reply;
}

/// Empty, or why there is none.
std::string EtcdConnection::take_token(Nanos until) {
  const Result<Secret> password = world_.secret(settings_.password);
  if (!password) return "was not asked: password: " + password.error().text;
  const Reply reply = post(token_call(settings_.user, password->text()), until);
  token_ = token_of(reply.body);
  if (!token_.empty()) return {};
  if (reply.status == 0) return "does not answer: " + reply.words;
  return "refuses user and password (HTTP " + std::to_string(reply.status) + ")";
}

}  // namespace brimwatch
