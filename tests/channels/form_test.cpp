// A webhook in the form of its user: what is filled in stays one value whatever it holds; against a real web server.
#include "adapters/channels/form.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/channels/table.h"
#include "tests/channels/messages.h"
#include "tests/channels/web_peer.h"
#include "tests/support/hostile_text.h"
#include "tests/support/small_png.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing_support::digest_of;
using testing_support::message_of;
using testing_support::sample_record;
using testing_support::WebPeer;

TEST(Form, FillsNamesAndLeavesOtherBraces) {
  const FormValues values{{"title", "a \"b\"\n"}, {"price", "48.41"}, {"symbol", "KL/VN"}};
  EXPECT_EQ(filled("{title}|{x}|{|}", values, Written::plain), "a \"b\"\n|{x}|{|}");
  EXPECT_EQ(filled(R"({"t":"{title}!","p":{price},"n":{pivot},"w":{title},"s":"{price}"})", values, Written::json),
            R"({"t":"a \"b\"\u000a!","p":48.41,"n":null,"w":"a \"b\"\u000a","s":"48.41"})");
  EXPECT_EQ(filled("/m/{symbol}?q={title}", values, Written::url), "/m/KL%2FVN?q=a%20%22b%22%0A");
  EXPECT_EQ(filled("w/{symbol}/{note}", values, Written::topic), "w/KL_VN/none");
  EXPECT_EQ(filled("X {title}", values, Written::header), "X a \"b\"");
}

// RFC 8259, by nlohmann's parser: the form stays JSON, and the value comes out as it went in.
TEST(Form, StaysJsonWhateverIsFilledIn) {
  const std::string form = R"({"text":"{title}: {text}","raw":{note},"p":{price},"id":"{id}"})";
  EXPECT_TRUE(is_json_form(form));
  for (const std::string& hostile : testing_support::hostile_texts()) {
    Message message = message_of(sample_record());
    message.title = message.text = message.notices[0].note = hostile;
    const OrderedJson json = OrderedJson::parse(filled(form, form_values(message, "x"), Written::json), nullptr, false);
    ASSERT_FALSE(json.is_discarded()) << hostile;
    EXPECT_EQ(json["p"], 48.41);
    EXPECT_EQ(json["text"].get<std::string>(), json["raw"].get<std::string>() + ": " + json["raw"].get<std::string>());
  }
  EXPECT_FALSE(is_json_form("{title}"));
  EXPECT_FALSE(is_json_form(R"({"a":{title}{text}})"));
}

TEST(Form, AWrongNameIsSaid) {
  EXPECT_THAT(check_form_names("body", "{titel}", false).error().text,
              HasSubstr("body: found {titel}, expected one of {title}, {text}"));
  EXPECT_FALSE(check_form_names("url", "{secret}", false));
  EXPECT_TRUE(check_form_names("body", R"({"secret":"{secret}"})", true));
}

TEST(Form, ADigestHasItsFirstSymbol) {
  const FormValues values = form_values(digest_of({sample_record(), sample_record()}), "x");
  EXPECT_EQ(values.at("kind"), "digest");
  EXPECT_EQ(values.at("symbol"), "KLVN");
  EXPECT_EQ(form_values(Message{}, "x").at("title"), "");
}

ChannelSettings room(const WebPeer& web) {
  ChannelSettings settings;
  settings.name = "room";
  settings.kind = "webhook";
  settings.url = web.url("/rooms/17/{id}?s={symbol}");
  settings.method = "PUT";
  settings.insecure_loopback = true;
  settings.body = R"({"text":"{title}\n{text}","price":{price}})";
  settings.headers = {{"Authorization", "Bearer {secret}"}};
  settings.secret = {SecretSource::Kind::environment, "ROOM"};
  settings.timeout = std::chrono::seconds(8);
  return settings;
}

std::unique_ptr<Channel> made(const ChannelSettings& settings) {
  ChannelContext context = default_context();
  context.secret = [](const SecretSource&) -> Result<Secret> { return Secret("token-17"); };
  auto channel = make_channel(settings, context);
  EXPECT_TRUE(channel) << channel.error().text;
  return std::move(*channel);
}

TEST(OwnForm, SendsWhatItsUserWrote) {
  WebPeer web({"200|{\"ok\":true}"});
  EXPECT_EQ(made(room(web))->send(message_of(sample_record())).outcome, Outcome::delivered);
  const OrderedJson request = web.request();
  EXPECT_EQ(request["method"], "PUT");
  EXPECT_EQ(request["path"], "/rooms/17/2026-11-25%2FKLVN%2F48.35%2Fcrossed%2F1?s=KLVN");
  EXPECT_EQ(request["headers"]["authorization"], "Bearer token-17");
  EXPECT_EQ(request["headers"]["content-type"], "application/json");
  const OrderedJson body = OrderedJson::parse(request["body"].get<std::string>());
  EXPECT_EQ(body["price"], 48.41);
  EXPECT_EQ(body["text"], sample_record().title + "\n" + sample_record().text);
}

// RFC 7578, taken apart by Python's own parser of MIME elsewhere; here by its marks.
TEST(OwnForm, SendsThePictureBesideTheBody) {
  WebPeer web({"204"});
  ChannelSettings settings = room(web);
  settings.picture_part = "file";
  settings.body_part = "payload";
  EXPECT_EQ(made(settings)->send(message_of(sample_record(), testing_support::small_png())).outcome, Outcome::delivered);
  const OrderedJson request = web.request();
  EXPECT_THAT(request["headers"]["content-type"].get<std::string>(), HasSubstr("multipart/form-data; boundary="));
  const std::string body = request["body"];
  EXPECT_THAT(
      body,
      HasSubstr("Content-Disposition: form-data; name=\"payload\"\r\nContent-Type: application/json\r\n\r\n{\"text\":"));
  EXPECT_THAT(body, HasSubstr("name=\"file\"; filename=\"day.png\"\r\nContent-Type: image/png\r\n\r\n\\x89PNG"));
}

TEST(OwnForm, AnAnswerThatRepeatsTheSecretIsShownWithoutIt) {
  WebPeer web({R"(401|{"error":{"message":"no room for token-17 at https://rooms.example.org/hooks/T1?key=zz"}})"});
  const Delivery delivery = made(room(web))->send(message_of(sample_record()));
  EXPECT_EQ(delivery.reply, "HTTP 401: no room for (secret) at https://rooms.example.org");
}

TEST(OwnForm, SuccessIsWhatItsUserSaysItIs) {
  struct Case {
    const char* answer;
    std::vector<std::string> status;
    std::string at, equals;
    Outcome wanted;
  };
  const Case cases[] = {{"200", {}, "", "", Outcome::delivered},
                        {"200", {"204"}, "", "", Outcome::dead},
                        {"409", {"2xx", "409"}, "", "", Outcome::delivered},
                        {"500", {}, "", "", Outcome::retry},
                        {"302;Location: https://elsewhere.example/", {}, "", "", Outcome::dead},
                        {"200|{\"ok\":true}", {}, "/ok", "true", Outcome::delivered},
                        {"200|{\"ok\":false}", {}, "/ok", "true", Outcome::retry},
                        {"200|{\"r\":[{\"s\":\"sent\"}]}", {}, "/r/0/s", "sent", Outcome::delivered},
                        {"200|no json", {}, "/ok", "true", Outcome::retry},
                        {"200|{\"r\":[]}", {}, "/r/x", "1", Outcome::retry}};
  for (const Case& one : cases) {
    WebPeer web({one.answer});
    ChannelSettings settings = room(web);
    settings.success_status = one.status;
    settings.success_at = one.at;
    settings.success_equals = one.equals;
    EXPECT_EQ(made(settings)->send(message_of(sample_record())).outcome, one.wanted) << one.answer;
  }
}

TEST(OwnForm, WhatCannotBeIsRefusedBeforeItIsSent) {
  ChannelSettings settings;
  settings.name = settings.kind = "webhook";
  settings.url = "https://chat.example.org/{symbol}";
  settings.body = "{titel}";
  EXPECT_THAT(objections_to(settings).at(0), HasSubstr("body: found {titel}"));
  settings.body = "{\"a\":";
  settings.headers = {{"Content-Type", "application/json"}};
  EXPECT_THAT(objections_to(settings).at(0), HasSubstr("body: found no JSON"));
  settings.headers = {{"X\r\nY", "1"}};
  EXPECT_THAT(objections_to(settings).at(0), HasSubstr("headers: found"));
  settings.headers = {};
  settings.body = "{title}";
  settings.url = "https://{symbol}.example.org/";
  EXPECT_FALSE(objections_to(settings).empty());  // no host is made of what a source says
}

}  // namespace
}  // namespace brimwatch
