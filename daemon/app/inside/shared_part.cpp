#include "app/inside/shared_part.h"

#include <utility>

#include "adapters/net/tls_keys.h"

namespace brimwatch {

SharedPart::SharedPart(const SharedSettings& settings)
    : settings_(settings), right_(settings.on() ? std::make_shared<SpeakingRight>() : nullptr) {}

void SharedPart::join(HouseWorld& world) {
  if (right_ == nullptr) return;
  world.stands_by = true;
  world.feed_at_takeover = settings_.feed == "at-takeover";
  world.share = [this](const Answer& answer, std::function<void(Status)> then) {
    if (membership_ != nullptr) membership_->share(answer, std::move(then));
    else then(fail("the program is not ready; nothing was changed"));
  };
  world.shared = [this] { return membership_ == nullptr ? SharedRow{} : membership_->row(); };
}

void SharedPart::start(boost::asio::io_context& loop, House& house, BatchKeeper& journal, Records& records,
                       Chores& chores, const LogSink& trouble) {
  if (right_ == nullptr) return house.start(journal, records);
  membership_ = std::make_unique<SharedMembership>(loop, settings_, right_, house, journal, records, trouble);
  house.start(membership_->keeper(), membership_->records());
  membership_->start();
  answer_directly(chores, trouble);
}

/// Where it cannot, the others know no address of this machine, and go by etcd alone.
void SharedPart::answer_directly(Chores& chores, const LogSink& trouble) {
  const std::string& address = settings_.direct;
  if (address.empty()) return;
  const auto refuse = [trouble](const std::string& why) {
    trouble(LogLevel::error, "[shared] direct: " + why + "; the other machines cannot ask this one whether it speaks");
  };
  if (address.starts_with("http:")) {
    if (const Status done = membership_->answer_directly(nullptr); !done) refuse(done.error().text);
    return;
  }
  chores.start(
      [this, refuse, certificate = settings_.certificate, key = settings_.key]() -> Worker::Answer {
        auto keys = TlsKeys::load(certificate, key);
        if (!keys) return [refuse, why = keys.error().text] { refuse(why); };
        return [this, refuse, keys = std::move(*keys)] {
          if (const Status done = membership_->answer_directly(keys); !done) refuse(done.error().text);
        };
      },
      refuse);
}

std::vector<NoticeRecord> SharedPart::to_tell(std::vector<NoticeRecord> written) const {
  return membership_ == nullptr ? written : membership_->to_tell(std::move(written));
}

void SharedPart::on_journal_read() {
  if (membership_ != nullptr) membership_->on_journal_read();
}

void SharedPart::on_reload() {
  if (membership_ != nullptr) membership_->on_reload();
}

void SharedPart::hand_over(std::function<void(const std::string& refusal)> reply) {
  if (membership_ == nullptr) return reply("there is no [shared] in the configuration");
  membership_->hand_over(std::move(reply));
}

void SharedPart::leave(std::function<void()> then) {
  if (membership_ == nullptr) return then();
  membership_->leave(std::move(then));
}

bool SharedPart::stop(std::chrono::milliseconds most) { return membership_ == nullptr || membership_->stop(most); }

}  // namespace brimwatch
