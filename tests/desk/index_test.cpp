// An index whose daily bars are doubtful gives no trend, and says why; one that lacks a day or two still does, and says
// that too. The sessions are those of the New York calendar (tests/session holds it against published ones).
#include <gmock/gmock.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "desk/desk.h"
#include "session/session_days.h"

namespace brimwatch {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr Date kIndexDay = Date::of(2026, 11, 25);

class Index : public testing::Test {
 protected:
  Index() {
    folder_ = std::filesystem::path(testing::TempDir()) / ("index_" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
    const auto calendar = Calendar::load("XNYS", {}).value();
    days_ = session_days(*calendar);
    std::erase_if(days_, [](Date day) { return day >= kIndexDay; });
    days_.erase(days_.begin(), days_.end() - 260);
  }
  ~Index() override { std::filesystem::remove_all(folder_); }

  /// A market that rises a little each session; `factor` of the price at each of them.
  void write(const std::function<double(std::size_t)>& factor = [](std::size_t) { return 1.0; }) {
    std::ofstream out(folder_ / "INDEX.csv");
    out << "date,open,high,low,close,volume\n";
    for (std::size_t i = 0; i < days_.size(); ++i) {
      const double close = (4000 + 3.0 * static_cast<double>(i)) * factor(i);
      out << to_string(days_[i]) << "," << close - 2 << "," << close + 5 << "," << close - 6 << "," << close << ",0\n";
    }
  }
  std::unique_ptr<Desk> desk() {
    Settings settings;
    settings.market.index = (folder_ / "INDEX.csv").string();
    auto out = Desk::open(std::move(settings)).value();
    out->begin_day(kIndexDay);
    return out;
  }

  std::filesystem::path folder_;
  std::vector<Date> days_;
};

TEST_F(Index, OfSoundBarsGivesTheTrend) {
  write();
  const auto desk = this->desk();
  EXPECT_EQ(desk->trend(), Trend::up);
  EXPECT_THAT(desk->problems(), IsEmpty());
}

TEST_F(Index, WithAStepThatNoMarketMakesGivesNone) {
  write([](std::size_t i) { return i < 230 ? 10.0 : 1.0; });
  const auto desk = this->desk();
  EXPECT_EQ(desk->trend(), Trend::unknown);
  EXPECT_THAT(desk->problems(), Contains(AllOf(HasSubstr("unreported 10:1 split"), HasSubstr("it gives no trend"))));
  EXPECT_THAT(desk->old_index(kIndexDay), HasSubstr("the index's bars are doubtful"));
}

TEST_F(Index, ThatLacksTwoDaysStillGivesOneAndSaysSo) {
  days_.erase(days_.end() - 30, days_.end() - 28);
  write();
  const auto desk = this->desk();
  EXPECT_EQ(desk->trend(), Trend::up);
  EXPECT_THAT(desk->problems(), Contains(AllOf(HasSubstr("no row on 2 days"), HasSubstr("it still gives the trend"))));
}

TEST_F(Index, ThatLacksMoreThanAWeekGivesNone) {
  days_.erase(days_.end() - 40, days_.end() - 33);
  write();
  const auto desk = this->desk();
  EXPECT_EQ(desk->trend(), Trend::unknown);
  EXPECT_THAT(desk->problems(), Contains(AllOf(HasSubstr("no row on 7 days"), HasSubstr("it gives no trend"))));
}

TEST_F(Index, WithASpikeIsJudgedByItsClosesAlone) {
  write();
  std::ifstream in(folder_ / "INDEX.csv");
  std::string text((std::istreambuf_iterator<char>(in)), {});
  const std::size_t at = text.find(to_string(days_[250]));
  const std::size_t high = text.find(',', text.find(',', at) + 1) + 1;
  text.replace(high, text.find(',', high) - high, "9999");
  std::ofstream(folder_ / "INDEX.csv") << text;
  EXPECT_EQ(desk()->trend(), Trend::up);
}

}  // namespace
}  // namespace brimwatch
