#include "app/records_desk.h"

#include <boost/asio/post.hpp>

namespace brimwatch {

namespace asio = boost::asio;

std::unique_ptr<Journal> RecordsDesk::open() const {
  JournalOptions visit;
  visit.check = false;
  auto journal = Journal::open(path_, visit);
  return journal ? std::move(*journal) : nullptr;
}

void RecordsDesk::acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) {
  asio::post(thread_, [this, notice_id, at, answer = std::move(answer)] {
    const auto journal = open();
    if (journal && journal->acknowledge(notice_id, at)) asio::post(loop_, answer);
  });
}

void RecordsDesk::new_acknowledgements(std::function<void(std::vector<std::string>)> answer) {
  asio::post(thread_, [this, answer = std::move(answer)] {
    const auto journal = open();
    if (!journal) return;
    const auto found = journal->acknowledgements(std::max<std::int64_t>(seen_, 0));
    if (!found) return;
    const bool first = std::exchange(seen_, found->empty() ? std::max<std::int64_t>(seen_, 0) : found->back().seq) < 0;
    if (first || found->empty()) return;  // those before the start are known to the dispatcher's own rows
    std::vector<std::string> ids;
    for (const Acknowledgement& one : *found) ids.push_back(one.notice_id);
    asio::post(loop_, [answer, ids = std::move(ids)]() mutable { answer(std::move(ids)); });
  });
}

}  // namespace brimwatch
