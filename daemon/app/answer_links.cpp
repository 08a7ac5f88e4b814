#include "app/answer_links.h"

#include <algorithm>
#include <random>
#include <utility>

#include "adapters/channels/crypto.h"
#include "core/text/json.h"
#include "files/own_files.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

constexpr std::size_t kKeyBytes = 32;
constexpr const char* kUnchanged = "; nothing was changed";

/// RFC 4648 section 5, without padding.
std::string to_base64url(std::string_view bytes) {
  std::string text = base64(bytes);
  std::replace(text.begin(), text.end(), '+', '-');
  std::replace(text.begin(), text.end(), '/', '_');
  text.erase(text.find_last_not_of('=') + 1);
  return text;
}

std::optional<std::string> from_base64url(std::string text) {
  std::replace(text.begin(), text.end(), '-', '+');
  std::replace(text.begin(), text.end(), '_', '/');
  text.append((4 - text.size() % 4) % 4, '=');
  return from_base64(text);
}

bool same_bytes(std::string_view a, std::string_view b) {
  if (a.size() != b.size()) return false;
  unsigned char differ = 0;
  for (std::size_t i = 0; i < a.size(); ++i) differ |= static_cast<unsigned char>(a[i] ^ b[i]);
  return differ == 0;
}

std::string new_key() {
  std::random_device source;
  std::string key;
  for (std::size_t i = 0; i < kKeyBytes; ++i) key += static_cast<char>(source() & 0xFFU);
  return key;
}

struct Offer {
  const char *words, *ask, *span;
};
constexpr Offer kOffers[] = {{"Seen", "acknowledge", ""},
                             {"Mute for an hour", "mute", "hour"},
                             {"Mute for today", "mute", "today"},
                             {"I bought it", "bought", ""}};

std::string text_in(const OrderedJson& json, const char* name) {
  const auto found = json.find(name);
  return found != json.end() && found->is_string() ? found->get<std::string>() : std::string();
}

class WithLinks final : public Channel {
 public:
  WithLinks(std::unique_ptr<Channel> inner, AnswerLinks links, std::string page)
      : inner_(std::move(inner)), links_(std::move(links)), page_(std::move(page)) {}
  Delivery send(const Message& message) override {
    if (message.notices.size() != 1) return inner_->send(message);
    Message with = message;
    with.links = links_.links_of(message.notices.front(), page_);
    return inner_->send(with);
  }

 private:
  std::unique_ptr<Channel> inner_;
  AnswerLinks links_;
  std::string page_;
};

}  // namespace

Result<AnswerLinks> AnswerLinks::open(const std::string& key_file) {
  if (const auto kept = read_file(key_file, 1024)) {
    const auto key = from_base64(*kept);
    if (key && key->size() == kKeyBytes) return AnswerLinks(*key);
    return fail(key_file + ": is no key of 32 bytes in base64; remove it, and a new one is made");
  }
  const std::string key = new_key();
  if (const Status kept = replace_file(key_file, base64(key)); !kept) return tl::unexpected(kept.error());
  return AnswerLinks(key);
}

std::string AnswerLinks::signed_token(const std::string& payload) const {
  return to_base64url(payload) + "." + to_base64url(hmac_sha256(key_, payload));
}

std::vector<MessageLink> AnswerLinks::links_of(const NoticeRecord& record, const std::string& page) const {
  const Notice& notice = record.notice;
  if (!is_urgent(notice.kind) || !notice.pivot.is_set()) return {};
  const Timestamp from = notice.age > 0 ? notice.time + notice.age : notice.time;
  std::vector<MessageLink> out;
  for (const Offer& offer : kOffers) {
    OrderedJson payload{{"ask", offer.ask}, {"notice", record.id}, {"expires", (from + kLife).ns / kSecond}};
    if (*offer.span != 0) payload["for"] = offer.span;
    out.push_back({offer.words, page + (page.ends_with('/') ? "" : "/") + "#answer=" + signed_token(payload.dump())});
  }
  return out;
}

Result<AnswerRequest> AnswerLinks::request_of(std::string_view json, Timestamp now) const {
  const auto asked = OrderedJson::parse(json, nullptr, false);
  const std::string token = asked.is_object() ? text_in(asked, "token") : std::string();
  const std::size_t point = token.find('.');
  const auto payload = from_base64url(token.substr(0, point));
  const auto mac = point == std::string::npos ? std::nullopt : from_base64url(token.substr(point + 1));
  if (!payload || !mac || !same_bytes(*mac, hmac_sha256(key_, *payload)))
    return fail(std::string("this link was not made here, or a part of it is missing") + kUnchanged);
  const auto said = OrderedJson::parse(*payload, nullptr, false);
  const auto kind = said.is_object() ? answer_kind_of(text_in(said, "ask")) : std::nullopt;
  if (!kind) return fail(std::string("this link says nothing that is known here") + kUnchanged);
  if (now.ns / kSecond >= said.value("expires", std::int64_t{0}))
    return fail(std::string("this link has expired: it is good for a day") + kUnchanged);
  AnswerRequest request{.kind = *kind, .who = "mail"};
  request.notice = text_in(said, "notice");
  request.span = text_in(said, "for");
  request.price = text_in(asked, "price");
  request.shares = text_in(asked, "shares");
  request.id = "link/" + text_in(said, "ask") + "/" + request.span + "/" + request.notice;
  return request;
}

bool is_link_request(std::string_view json) {
  const auto asked = OrderedJson::parse(json, nullptr, false);
  return asked.is_object() && text_in(asked, "ask") == "link";
}

std::unique_ptr<Channel> with_links(std::unique_ptr<Channel> inner, AnswerLinks links, std::string page) {
  return std::make_unique<WithLinks>(std::move(inner), std::move(links), std::move(page));
}

}  // namespace brimwatch
