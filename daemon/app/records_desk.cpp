#include "app/records_desk.h"

#include <boost/asio/post.hpp>

namespace brimwatch {

namespace asio = boost::asio;

Result<std::unique_ptr<Journal>> RecordsDesk::open() const {
  JournalOptions visit;
  visit.check = false;
  return Journal::open(path_, visit);
}

Status RecordsDesk::keep(const std::string& notice_id, Timestamp at) const {
  const auto journal = open();
  if (!journal) return tl::unexpected(journal.error());
  return (*journal)->acknowledge(notice_id, at);
}

void RecordsDesk::acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) {
  asio::post(thread_, [this, notice_id, at, answer = std::move(answer)] {
    if (const Status kept = keep(notice_id, at); !kept)
      return say_(LogLevel::warning, "acknowledgement of " + notice_id + " is not kept: " + kept.error().text);
    asio::post(loop_, answer);
  });
}

/// The first look finds all there are: one may have been given after the open deliveries were read, and those that were
/// known then change nothing.
void RecordsDesk::new_acknowledgements(std::function<void(std::vector<std::string>)> answer) {
  asio::post(thread_, [this, answer = std::move(answer)] {
    const auto journal = open();
    if (!journal) return;
    const auto found = (*journal)->acknowledgements(seen_);
    if (!found || found->empty()) return;
    seen_ = found->back().seq;
    std::vector<std::string> ids;
    for (const Acknowledgement& one : *found) ids.push_back(one.notice_id);
    asio::post(loop_, [answer, ids = std::move(ids)]() mutable { answer(std::move(ids)); });
  });
}

}  // namespace brimwatch
