#include "adapters/etcd/gateway.h"

#include <array>

#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::string_view kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

std::string base64_of(std::string_view bytes) {
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::string_view part = bytes.substr(i, 3);
    std::uint32_t bits = 0;
    for (std::size_t k = 0; k < 3; ++k) bits = bits << 8 | (k < part.size() ? static_cast<unsigned char>(part[k]) : 0U);
    for (std::size_t k = 0; k < 4; ++k) out += k <= part.size() ? kDigits[bits >> (18 - 6 * k) & 63] : '=';
  }
  return out;
}

std::string bytes_of(std::string_view text) {
  std::string out;
  std::uint32_t bits = 0;
  int count = 0;
  for (const char c : text) {
    const std::size_t digit = kDigits.find(c);
    if (digit == std::string_view::npos) break;
    bits = bits << 6 | static_cast<std::uint32_t>(digit);
    count += 6;
    if (count < 8) continue;
    count -= 8;
    out += static_cast<char>(bits >> count & 0xFF);
  }
  return out;
}

std::int64_t number_in(const Json& all, const char* name) {
  const auto found = all.find(name);
  if (found == all.end()) return 0;
  if (found->is_number_integer()) return found->get<std::int64_t>();
  return found->is_string() ? std::strtoll(found->get_ref<const std::string&>().c_str(), nullptr, 10) : 0;
}

std::string text_in(const Json& all, const char* name) {
  const auto found = all.find(name);
  return found != all.end() && found->is_string() ? found->get<std::string>() : std::string();
}

Json json_of(const LogRange& range) {
  Json all{{"key", base64_of(range.key)}};
  if (!range.until.empty()) all["range_end"] = base64_of(range.until);
  if (range.most > 0) all["limit"] = std::to_string(range.most);
  if (range.at != 0) all["revision"] = std::to_string(range.at);
  if (range.changed_since != 0) all["min_mod_revision"] = std::to_string(range.changed_since);
  return all;
}

Json json_of(const LogWrite& write) {
  Json all{{"key", base64_of(write.key)}};
  if (write.remove) {
    if (!write.until.empty()) all["range_end"] = base64_of(write.until);
    return {{"requestDeleteRange", std::move(all)}};
  }
  all["value"] = base64_of(write.value);
  if (write.lease != 0) all["lease"] = std::to_string(write.lease);
  return {{"requestPut", std::move(all)}};
}

std::string body_of_commit(const LogRequest& request) {
  Json compare = Json::array(), then = Json::array(), otherwise = Json::array();
  for (const LogCondition& one : request.conditions)
    compare.push_back({{"key", base64_of(one.key)},
                       {"target", "CREATE"},
                       {"result", "EQUAL"},
                       {"createRevision", std::to_string(one.created)}});
  for (const LogWrite& write : request.writes) then.push_back(json_of(write));
  for (const LogRange& range : request.ranges) {
    then.push_back({{"requestRange", json_of(range)}});
    otherwise.push_back(then.back());
  }
  return Json{{"compare", std::move(compare)}, {"success", std::move(then)}, {"failure", std::move(otherwise)}}.dump();
}

LogPage page_of(const Json& range) {
  LogPage page;
  const auto more = range.find("more");
  page.more = more != range.end() && more->is_boolean() && more->get<bool>();
  const auto entries = range.find("kvs");
  if (entries == range.end() || !entries->is_array()) return page;
  for (const Json& one : *entries)
    page.entries.push_back({bytes_of(text_in(one, "key")), bytes_of(text_in(one, "value")),
                            number_in(one, "create_revision"), number_in(one, "mod_revision"), number_in(one, "lease")});
  return page;
}

void take_commit(const Json& all, std::size_t ranges, LogAnswer& answer) {
  const auto held = all.find("succeeded");
  answer.held = held != all.end() && held->is_boolean() && held->get<bool>();
  const auto responses = all.find("responses");
  if (responses != all.end() && responses->is_array())
    for (const Json& one : *responses)
      if (const auto range = one.find("response_range"); range != one.end()) answer.pages.push_back(page_of(*range));
  // A transaction of which nothing is answered for a range is not what was asked.
  if (answer.pages.size() != ranges) answer.outcome = LogAnswer::Outcome::unknown, answer.words = "answers by halves";
}

/// Of gRPC's codes those after which it is certain that nothing was done.
bool is_certain(std::int64_t code) {
  constexpr std::array<std::int64_t, 8> kCertain{3, 5, 6, 7, 8, 9, 11, 16};
  return std::find(kCertain.begin(), kCertain.end(), code) != kCertain.end();
}

/// What a person can do about it, where etcd's own words do not say. The words are those of etcd 3.4 and 3.5.
std::string advice_for(std::string_view words) {
  constexpr std::pair<std::string_view, std::string_view> kAdvice[] = {
      {"user name is empty",
       "it wants a user: give [shared] user and password; a certificate's common name is none here"},
      {"invalid user ID or password", "[shared] user or password is not what etcd has"},
      {"permission denied", "the user's role lacks readwrite on the prefix brimwatch/HOUSE/"},
      {"database space exceeded", "its quota is full: compact, defragment, and disarm the alarm (etcdctl alarm disarm)"},
      {"ommon Name", "the member's own certificate must have no common name"},
      {"ommon name", "the member's own certificate must have no common name"}};
  for (const auto& [part, advice] : kAdvice)
    if (words.find(part) != std::string_view::npos) return " (" + std::string(advice) + ")";
  return {};
}

LogAnswer answer_of_error(long status, const Json& all) {
  LogAnswer answer;
  const std::string words = clean_line(text_in(all, all.contains("error") ? "error" : "message"), 160);
  const bool certain = status != 0 && all.is_object() && is_certain(number_in(all, "code"));
  answer.outcome = certain ? LogAnswer::Outcome::refused : LogAnswer::Outcome::unknown;
  answer.words = words.empty() ? "answers with HTTP " + std::to_string(status) : "says: " + words + advice_for(words);
  return answer;
}

/// A lease is granted in whole seconds: the next above what is wanted.
std::int64_t whole_seconds(Nanos span) { return std::max<std::int64_t>(1, (span + kSecond - 1) / kSecond); }

}  // namespace

GatewayCall gateway_call(const LogRequest& request) {
  switch (request.kind) {
    case LogRequest::Kind::commit:
      return {"/v3/kv/txn", body_of_commit(request)};
    case LogRequest::Kind::grant:
      return {"/v3/lease/grant", Json{{"TTL", std::to_string(whole_seconds(request.ttl))}}.dump()};
    case LogRequest::Kind::renew:
      return {"/v3/lease/keepalive", Json{{"ID", std::to_string(request.lease)}}.dump()};
    case LogRequest::Kind::revoke:
      return {"/v3/lease/revoke", Json{{"ID", std::to_string(request.lease)}}.dump()};
  }
  return {};
}

LogAnswer gateway_answer(const LogRequest& request, long status, std::string_view body) {
  const Json all = Json::parse(body, nullptr, false);
  if (!all.is_object() || (status != 200 && !all.contains("code"))) {
    LogAnswer answer;
    answer.words = status == 0 ? "does not answer" : "answers with HTTP " + std::to_string(status);
    return answer;
  }
  if (status != 200) return answer_of_error(status, all);
  LogAnswer answer;
  answer.outcome = LogAnswer::Outcome::done;
  const bool wrapped = request.kind == LogRequest::Kind::renew && all.contains("result");
  const Json& result = wrapped ? all["result"] : all;
  if (request.kind == LogRequest::Kind::renew && !wrapped) return answer_of_error(status, all);
  if (const auto header = result.find("header"); header != result.end()) {
    answer.revision = number_in(*header, "revision");
    answer.term = static_cast<std::uint64_t>(number_in(*header, "raft_term"));
  }
  answer.lease = number_in(result, "ID"), answer.ttl = number_in(result, "TTL") * kSecond;
  if (request.kind == LogRequest::Kind::commit) take_commit(all, request.ranges.size(), answer);
  return answer;
}

bool wants_new_token(long status, std::string_view body) {
  if (status == 401) return true;
  if (status != 200 && body.find("invalid auth token") != std::string_view::npos) return true;
  return status != 200 && body.find("user name is empty") != std::string_view::npos;
}

GatewayCall token_call(const std::string& user, const std::string& password) {
  return {"/v3/auth/authenticate", Json{{"name", user}, {"password", password}}.dump()};
}

std::string token_of(std::string_view body) {
  const Json all = Json::parse(body, nullptr, false);
  return all.is_object() ? text_in(all, "token") : std::string();
}

}  // namespace brimwatch
