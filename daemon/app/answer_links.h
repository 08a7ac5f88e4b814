#pragma once
// Links in mails by which a notice can be answered: signed, once each, for a day. A link opens the page, which asks; only
// its user's click, a POST, answers. What it may say stands in the link itself, behind the `#`, which no browser sends to
// any server: {"ask":"mute","for":"hour","notice":ID,"expires":SECONDS} in base64url, a point, and its HMAC-SHA-256.
//
// The key is a file of our own beside the journal, 0600, made when it is first needed: links survive restarts.
#include <chrono>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/channel.h"
#include "answers/request.h"
#include "core/result.h"

namespace brimwatch {

class AnswerLinks {
 public:
  explicit AnswerLinks(std::string key) : key_(std::move(key)) {}
  /// From the file, or a new one in it.
  static Result<AnswerLinks> open(const std::string& key_file);

  /// For a notice about a watch that is told at once; the same notice has the same links.
  [[nodiscard]] std::vector<MessageLink> links_of(const NoticeRecord& record, const std::string& page) const;
  /// {"ask":"link","token":"...","price":"48.60","shares":"200"} as the request that the link stands for; its id makes it
  /// count once. `now`: our own clock.
  [[nodiscard]] Result<AnswerRequest> request_of(std::string_view json, Timestamp now) const;

  static constexpr Nanos kLife = 24 * kHour;  ///< from the notice on

 private:
  [[nodiscard]] std::string signed_token(const std::string& payload) const;
  std::string key_;
};

/// Whether that text is such a request.
[[nodiscard]] bool is_link_request(std::string_view json);

/// Puts the links into what goes out through `inner`.
[[nodiscard]] std::unique_ptr<Channel> with_links(std::unique_ptr<Channel> inner, AnswerLinks links, std::string page);

}  // namespace brimwatch
