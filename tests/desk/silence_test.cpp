// Causes of silence that no recorded day shows: mutes, holes, deliveries that failed, an earlier day's crossing. What is
// expected follows from the facts by the words of desk/silence.h; the days are those of XNYS (its published calendar).
#include "desk/silence.h"

#include <gmock/gmock.h>

#include "core/text/json.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;

const Date kSilentDay = Date::of(2026, 11, 25);

struct SilenceScene {
  SilenceScene() {
    watch.symbol = "KLVN";
    watch.pivot = Price{48'350'000};
    watch.calendar = "XNYS";
    set_levels(watch);
    calendar = *Calendar::load("XNYS", {});
    facts.emplace(SilenceFacts{.watch = watch, .settings = settings, .day = kSilentDay});
    facts->session = *calendar->on(kSilentDay);
    facts->offset = calendar->offset(facts->session->open);
    facts->now = facts->session->close;
    facts->journal = "j.db";
  }
  [[nodiscard]] Timestamp at(int minutes) const { return facts->session->open + minutes * kMinute; }
  [[nodiscard]] ToldNotice crossing(int minutes) const {
    Notice notice;
    notice.day = kSilentDay, notice.time = at(minutes), notice.pivot = watch.pivot, notice.price = Price{48'410'000};
    WordingContext context;
    context.symbol = "KLVN";
    return {word(notice, context), {}};
  }
  [[nodiscard]] Silence silence() const { return silence_of(*facts); }
  [[nodiscard]] std::vector<std::string> words() const {
    std::vector<std::string> out;
    for (const SilenceCause& cause : silence().causes) out.emplace_back(cause.word);
    return out;
  }
  Watch watch;
  Settings settings;
  std::shared_ptr<const Calendar> calendar;
  std::optional<SilenceFacts> facts;
};

TEST(Silence, OfWhatWasToldNamesTheChannelsAndWhatBecameOfIt) {
  SilenceScene scene;
  ToldNotice told = scene.crossing(72);
  told.deliveries = {{.channel = "mail", .state = DeliveryState::delivered, .done = scene.at(72) + 2 * kSecond},
                     {.channel = "hook", .state = DeliveryState::dead, .done = scene.at(73), .reply = "404"}};
  scene.facts->told = {told};
  const Silence silence = scene.silence();
  EXPECT_EQ(silence.verdict, "told");
  EXPECT_THAT(silence.summary, HasSubstr("crossed at 10:42:00 at 48.41, told"));
  ASSERT_EQ(silence.causes.size(), 1U);
  EXPECT_THAT(silence.causes[0].what, HasSubstr("mail delivered 10:42:02, hook dead 10:43:00 (404)"));
}

TEST(Silence, OfAMutedWatchIsKeptInTheJournalAndSaysWhoMutedIt) {
  SilenceScene scene;
  ToldNotice kept = scene.crossing(72);
  kept.record.notice.muted = true;
  scene.facts->told = {kept};
  Answer mute;
  mute.kind = AnswerKind::mute, mute.who = "phone", mute.symbol = "KLVN", mute.day = kSilentDay;
  mute.time = scene.at(60), mute.until = scene.at(120);
  scene.facts->answers = {mute};
  EXPECT_EQ(scene.silence().verdict, "kept");
  EXPECT_THAT(scene.words(), ElementsAre("muted", "kept-muted"));
  EXPECT_THAT(scene.silence().causes[0].what, HasSubstr("muted by phone until 11:30:00"));
  EXPECT_THAT(scene.silence().causes[0].to_do, HasSubstr("watch unmute KLVN"));
}

TEST(Silence, NamesHolesOfTheFeedThatAreLongerThanAMinute) {
  SilenceScene scene;
  scene.facts->holes = {{"main", "", scene.at(10), scene.at(22), "connection lost"},
                        {"main", "", scene.at(30), scene.at(30) + 5 * kSecond, "short"}};
  EXPECT_THAT(scene.words(), ElementsAre("hole"));
  const SilenceCause cause = scene.silence().causes[0];
  EXPECT_EQ(cause.at, scene.at(10));
  EXPECT_EQ(cause.to, scene.at(22));
  EXPECT_THAT(cause.numbers, ElementsAre(testing::Pair("minutes", 12.0)));
  EXPECT_EQ(scene.silence().verdict, "not-known") << "no tape says what happened in it";
}

TEST(Silence, OfAWatchThatCrossedOnAnEarlierDaySaysFromWhereItCountsAnew) {
  SilenceScene scene;
  WatchState stood;
  stood.armed = false, stood.day = kSilentDay + (-1);
  scene.facts->stood = stood;
  scene.facts->before = scene.crossing(72).record;
  scene.facts->before->notice.day = kSilentDay + (-1);
  const SilenceCause cause = scene.silence().causes.at(0);
  EXPECT_EQ(cause.word, "told-before");
  EXPECT_THAT(cause.what, HasSubstr("2026-11-24"));
  EXPECT_THAT(cause.to_do, HasSubstr(to_string(scene.watch.rearm_level)));
}

TEST(Silence, BeforeTheOpenSaysWhetherACrossingWouldBeTold) {
  SilenceScene scene;
  scene.facts->now = scene.facts->session->open - kHour;
  EXPECT_EQ(scene.silence().verdict, "not-yet");
  EXPECT_THAT(scene.silence().summary, HasSubstr("opens at 09:30:00; its crossing would be told"));
  scene.facts->mute = {{MuteCause::About::channels, "no channel carries crossings", "", true}};
  EXPECT_THAT(scene.silence().summary, HasSubstr("would not be told"));
  EXPECT_THAT(scene.words(), ElementsAre("channels"));
}

TEST(Silence, OfATapeThatCrossedMoreOftenThanADayTellsNamesTheLimit) {
  SilenceScene scene;
  scene.facts->tape.files = {"day.csv"};
  scene.facts->tape.trades = 900;
  scene.facts->tape.crossings = 5;
  scene.facts->tape.said = {scene.crossing(72).record};
  scene.facts->told = {scene.crossing(72)};
  EXPECT_THAT(scene.words(), Contains("limit"));
}

TEST(Silence, IsOneObjectOfJsonForPrograms) {
  SilenceScene scene;
  scene.facts->holes = {{"main", "KLVN", scene.at(10), scene.at(22), ""}};
  const auto read = Json::parse(silence_json(scene.silence(), *scene.facts));
  EXPECT_EQ(read["causes"][0]["at"], "2026-11-25T09:40:00-05:00");
  EXPECT_EQ(read["causes"][0]["numbers"]["minutes"], 12);
  EXPECT_EQ(read["journal"], "j.db");
}

TEST(Silence, InWordsFitsEightyColumns) {
  SilenceScene scene;
  scene.facts->holes = {{"a feed with a long name of its own", "KLVN", scene.at(10), scene.at(22),
                         "connection lost: the other side has closed it without a word of why it did so"}};
  std::istringstream lines(silence_text(scene.silence(), *scene.facts));
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 80U) << line;
}

}  // namespace
}  // namespace brimwatch
