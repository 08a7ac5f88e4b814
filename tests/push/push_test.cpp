// Web Push's sealing and signing against what the standards print, byte for byte.
#include <gtest/gtest.h>

#include "adapters/push/base64url.h"
#include "adapters/push/p256.h"
#include "adapters/push/sealed.h"
#include "adapters/push/vapid.h"

namespace brimwatch {
namespace {

std::string bytes(std::string_view text) { return from_base64url(text).value(); }

// RFC 8188, section 3.1.
TEST(Aes128Gcm, IsTheExampleOfTheStandard) {
  const auto made =
      encoded_aes128gcm("I am the walrus", bytes("yqdlZ-tYemfogSmv7Ws5PQ"), bytes("I1BsxtFttlv3u_Oo94xnmw"), "");
  ASSERT_TRUE(made);
  EXPECT_EQ(base64url(*made), "I1BsxtFttlv3u_Oo94xnmwAAEAAA-NAVub2qFgBEuQKRapoZu-IxkIva3MEB1PD-ly8Thjg");
}

// RFC 8291, section 5 and appendix A.
TEST(Sealed, IsTheExampleOfTheStandard) {
  const auto sender = P256::from_private(bytes("yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"));
  ASSERT_TRUE(sender);
  EXPECT_EQ(base64url(sender->public_bytes()),
            "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8");
  const auto made =
      sealed_for("When I grow up, I want to be a watermelon",
                 bytes("BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"),
                 bytes("BTBZMqHH6r4Tts7J_aSIgg"), *sender, bytes("DGv6ra1nlYgDCS1FRnbzlw"));
  ASSERT_TRUE(made);
  EXPECT_EQ(
      base64url(*made),
      "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl"
      "7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN");
}

TEST(Sealed, NeverTwiceTheSameAndNeverMoreThanAServiceTakes) {
  const auto browser = P256::generate();
  ASSERT_TRUE(browser);
  const std::string auth(16, 'a'), longest(kSealedMost, 'x');
  const auto one = sealed_for(longest, browser->public_bytes(), auth),
             two = sealed_for(longest, browser->public_bytes(), auth);
  ASSERT_TRUE(one && two);
  EXPECT_NE(*one, *two);
  EXPECT_EQ(one->size(), 4096U);  // RFC 8030, section 7.2
  EXPECT_FALSE(sealed_for(longest + "x", browser->public_bytes(), auth));
}

TEST(Sealed, KeysThatAreNoneAreRefused) {
  const auto browser = P256::generate();
  ASSERT_TRUE(browser);
  std::string off_the_curve = browser->public_bytes();
  off_the_curve.back() = static_cast<char>(off_the_curve.back() ^ 1);
  for (const std::string& key :
       {std::string(), std::string(65, '\0'), std::string("\4") + std::string(64, '\xFF'), off_the_curve})
    EXPECT_FALSE(sealed_for("text", key, std::string(16, 'a')));
  EXPECT_FALSE(sealed_for("text", browser->public_bytes(), "short"));
  EXPECT_FALSE(P256::from_private(std::string(32, '\0')));
  EXPECT_FALSE(P256::from_private(std::string(32, '\xFF')));
  EXPECT_FALSE(P256::from_private("short"));
}

TEST(Vapid, NamesTheServiceAnEndAndAContact) {
  const auto key = P256::generate();
  ASSERT_TRUE(key);
  const std::chrono::sys_seconds now{std::chrono::seconds(1'764'085'327)};
  const auto said = vapid_authorization(*key, "https://push.example.net:4443/send/abc?d=1", "mailto:me@example.org", now);
  ASSERT_TRUE(said);
  ASSERT_TRUE(said->starts_with("vapid t="));
  const std::string token = said->substr(8, said->find(',') - 8), rest = token.substr(token.find('.') + 1);
  EXPECT_EQ(from_base64url(rest.substr(0, rest.find('.'))),
            R"({"aud":"https://push.example.net:4443","exp":1764128527,"sub":"mailto:me@example.org"})");
  EXPECT_EQ(said->substr(said->find(", k=") + 4), base64url(key->public_bytes()));
  EXPECT_EQ(from_base64url(rest.substr(rest.find('.') + 1)).value().size(), 64U);
}

// RFC 4648, section 10, in the alphabet of its section 5.
TEST(Base64Url, IsTheStandards) {
  EXPECT_EQ(base64url(""), "");
  EXPECT_EQ(base64url("fo"), "Zm8");
  EXPECT_EQ(base64url("\xFB\xFF\xFE"), "-__-");
  EXPECT_EQ(from_base64url("Zm8="), "fo");
  EXPECT_EQ(from_base64url("-__-"), "\xFB\xFF\xFE");
  for (const char* bad : {"Z", "Zm9v\n", "a+b/", "Zm 8"}) EXPECT_FALSE(from_base64url(bad)) << bad;
}

}  // namespace
}  // namespace brimwatch
