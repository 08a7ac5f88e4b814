#pragma once
// What people answer, on its way to the house: from the command line, the page, and links in mails.
#include <functional>
#include <string>
#include <string_view>

#include "adapters/net/web_request.h"
#include "live/house.h"

namespace brimwatch {

class AnswerIntake {
 public:
  using Reply = std::function<void(std::string json)>;

  /// `key_file`: by which links are signed. `taken`: an answer is in force, or refused.
  AnswerIntake(House& house, std::string key_file, std::function<void()> taken)
      : house_(house), key_file_(std::move(key_file)), taken_(std::move(taken)) {}

  /// `who` where the request does not say.
  void take(std::string_view request, const std::string& who, Reply reply);
  /// From our own page, by one who may answer; `reply` gets the answer and whether it is in force.
  void take_from_page(const WebRequest& request, const std::function<void(std::string json, bool done)>& reply);

 private:
  [[nodiscard]] Result<AnswerRequest> read(std::string_view request) const;

  House& house_;
  std::string key_file_;
  std::function<void()> taken_;
};

}  // namespace brimwatch
