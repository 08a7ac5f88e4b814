// A house among several: what its people say goes to the log first, and what comes from the log takes effect in its
// order.
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

struct SharedAnswersOfHouse : HouseRig {
  using HouseRig::change;
  void change(HouseWorld& world) override {
    world.share = [this](const Answer& answer, std::function<void(Status)> then) {
      asked.push_back(answer);
      if (!refusal.empty()) return then(fail(refusal));
      if (!comes_back) return held.push_back(std::move(then));
      house->take_answers({answer});
      then({});
    };
    world.prepare = [this](Settings settings, const std::function<void(ReadyDesk)>& then) {
      if (unfit.empty()) then({{}, Desk::prepare(std::move(settings)), 0});
      else then({{}, fail(unfit), 0});
    };
  }
  void ask(AnswerRequest request) {
    if (request.who.empty()) request.who = "phone";
    house->answer(request, [this](const Result<AnswerDone>& done) {
      said.push_back(done ? done->words : "refused: " + done.error().text);
    });
  }
  static Answer of(const char* id, AnswerKind kind, const char* symbol, const char* pivot) {
    Answer answer;
    answer.id = id, answer.kind = kind, answer.who = "cloud's page";
    answer.symbol = symbol, answer.pivot = *parse_price(pivot), answer.price = *parse_price("20.10");
    answer.day = Date::of(2026, 10, 14), answer.at = Timestamp{1};
    return answer;
  }
  [[nodiscard]] std::vector<std::string> kept() const {
    std::vector<std::string> ids;
    for (const Answer& one : keeper.kept.answers) ids.push_back(one.id);
    return ids;
  }
  [[nodiscard]] std::vector<std::string> watched() const {
    std::vector<std::string> names;
    for (const WatchRow& row : house->snapshot().watches) names.push_back(row.symbol + " " + to_string(row.pivot));
    return names;
  }
  [[nodiscard]] bool is_muted(const char* symbol) const {
    for (const WatchRow& one : house->snapshot().watches)
      if (one.symbol == symbol) return one.muted_until.is_set() || one.muted_under;
    return false;
  }

  std::vector<Answer> asked;
  std::vector<std::function<void(Status)>> held;
  std::vector<std::string> said;
  std::string refusal;
  std::string unfit;  ///< why a changed list cannot be laid out on this machine; empty: it can
  bool comes_back = true;
};

TEST_F(SharedAnswersOfHouse, what_a_person_says_goes_to_the_log_and_is_in_force_when_it_comes_back) {
  comes_back = false;
  ask({.kind = AnswerKind::mute, .symbol = "KLVN", .span = "hour"});
  ask({.kind = AnswerKind::unmute, .symbol = "KLVN"});
  pass(kSecond);
  ASSERT_EQ(asked.size(), 1U) << "the next one is decided in the light of it";
  EXPECT_FALSE(is_muted("KLVN"));
  EXPECT_THAT(said, IsEmpty());
  house->take_answers({asked[0]});
  EXPECT_TRUE(is_muted("KLVN"));
  held.at(0)({});
  pass(kSecond);
  EXPECT_THAT(said, ElementsAre(HasSubstr("KLVN 20.00 is muted until")));
  ASSERT_EQ(asked.size(), 2U);
  EXPECT_EQ(asked[1].kind, AnswerKind::unmute);
}

TEST_F(SharedAnswersOfHouse, what_the_log_does_not_take_changes_nothing) {
  refusal = "etcd says: no space; nothing was changed";
  ask({.kind = AnswerKind::drop, .symbol = "KLVN"});
  pass(kSecond);
  EXPECT_THAT(said, ElementsAre("refused: " + refusal));
  EXPECT_THAT(watched(), ElementsAre("KLVN 20.00", "ORRI 50.00"));
  EXPECT_THAT(kept(), IsEmpty());
}

TEST_F(SharedAnswersOfHouse, what_others_said_is_in_force_once_and_kept) {
  house->take_answers({of("a", AnswerKind::drop, "ORRI", "50.00"), of("b", AnswerKind::bought, "KLVN", "20.00")});
  house->take_answers({of("a", AnswerKind::drop, "ORRI", "50.00"), of("b", AnswerKind::bought, "KLVN", "20.00")});
  pass(kSecond);
  EXPECT_THAT(watched(), ElementsAre("KLVN 20.00"));
  EXPECT_THAT(kept(), ElementsAre("a", "b"));
  ASSERT_NE(house->answers().holding("KLVN"), nullptr);
  EXPECT_EQ(house->answers().holding("KLVN")->deals.size(), 1U);
}

/// This machine had "mine" alone; in the log "theirs" stands before it.
TEST_F(SharedAnswersOfHouse, a_known_one_takes_effect_anew_after_a_new_one_of_the_same_stock) {
  const Answer mine = of("mine", AnswerKind::bought, "KLVN", "20.00"),
               theirs = of("theirs", AnswerKind::sold, "KLVN", "0");
  const Answer of_another = of("other", AnswerKind::bought, "ORRI", "50.00");
  house->take_answers({mine, of_another});
  pass(kSecond);
  house->take_answers({theirs, mine, of_another});
  pass(kSecond);
  ASSERT_NE(house->answers().holding("KLVN"), nullptr) << "sold first, then bought";
  EXPECT_EQ(house->answers().holding("KLVN")->deals.size(), 1U);
  EXPECT_THAT(kept(), ElementsAre("mine", "other", "theirs", "mine")) << "its row takes its new place";
}

TEST_F(SharedAnswersOfHouse, one_that_was_given_alone_takes_its_place_behind_all_others) {
  const Answer drop = of("mine", AnswerKind::drop, "ORRI", "50.00"), add = of("theirs", AnswerKind::add, "ORRI", "50.00");
  house->take_answers({drop});
  house->take_answers({add});
  pass(kSecond);
  EXPECT_THAT(watched(), ElementsAre("KLVN 20.00", "ORRI 50.00"));
  house->take_again(drop);
  pass(kSecond);
  EXPECT_THAT(watched(), ElementsAre("KLVN 20.00"));
  EXPECT_THAT(kept(), ElementsAre("mine", "theirs", "mine"));
}

TEST_F(SharedAnswersOfHouse, lists_change_one_after_the_other_in_the_order_of_the_log) {
  const Answer add = of("1", AnswerKind::add, "NIVO", "8.10"), drop = of("2", AnswerKind::drop, "NIVO", "8.10");
  const Answer again = of("3", AnswerKind::add, "NIVO", "8.10");
  house->take_answers({add, drop, again});
  pass(kSecond);
  EXPECT_THAT(watched(), ElementsAre("KLVN 20.00", "ORRI 50.00", "NIVO 8.10"));
  EXPECT_THAT(kept(), ElementsAre("1", "2", "3"));
}

TEST_F(SharedAnswersOfHouse, what_was_bought_by_a_watch_of_another_list_is_watched_here_too) {
  house->take_answers({of("1", AnswerKind::bought, "NIVO", "8.10")});
  pass(kSecond);
  EXPECT_THAT(watched(), testing::Contains("NIVO 8.10"));
}

TEST_F(SharedAnswersOfHouse, what_this_machine_cannot_watch_stays_an_answer_and_a_person_hears_of_it) {
  unfit = "brimwatch.toml: NIVO has no calendar here";
  house->take_answers({of("1", AnswerKind::add, "NIVO", "8.10")});
  pass(kSecond);
  EXPECT_THAT(kept(), ElementsAre("1"));
  EXPECT_THAT(watched(), ElementsAre("KLVN 20.00", "ORRI 50.00"));
  ASSERT_FALSE(keeper.kept.notices.empty());
  EXPECT_THAT(keeper.kept.notices.back().notice.detail,
              testing::AllOf(HasSubstr("an answer of cloud's page is not in force on this machine: "),
                             HasSubstr("NIVO has no calendar here")));
}

TEST_F(SharedAnswersOfHouse, a_mute_outlives_sides_that_come_from_a_machine_without_it) {
  house->take_answers({of("1", AnswerKind::mute, "KLVN", "20.00")});
  Answer mute = of("2", AnswerKind::mute, "KLVN", "20.00");
  mute.under_pivot = true;
  house->take_answers({mute});
  ASSERT_TRUE(is_muted("KLVN"));
  WatchState theirs;
  theirs.symbol = "KLVN", theirs.pivot = *parse_price("20.00"), theirs.side = Side::under;
  house->adopt({theirs});
  EXPECT_FALSE(is_muted("KLVN"));
  house->mute_again(mute);
  EXPECT_TRUE(is_muted("KLVN"));
}

}  // namespace
}  // namespace brimwatch::simulation
