// The client against an independent HTTP server, with and without TLS.
#include "adapters/net/http.h"

#include <gmock/gmock.h>

#include "servers.h"
#include "tests/feeds/rig.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

struct Fetcher {
  Rig rig;
  HttpClient client{rig.io};

  HttpAnswer get(HttpRequest request) {
    std::optional<HttpAnswer> got;
    client.start(std::move(request), [&](const HttpAnswer& answer) { got = answer; });
    EXPECT_FALSE(got) << "no call from within start()";
    EXPECT_TRUE(rig.run_until([&] { return got.has_value(); }));
    return got.value_or(HttpAnswer{});
  }
};

HttpRequest plain(const Server& server, const std::string& path) {
  HttpRequest request;
  request.url = "http://127.0.0.1:" + server.port + path;
  request.insecure_loopback = true;
  return request;
}

TEST(Http, FetchesAndUnpacks) {
  Server server("http_peer.py");
  Fetcher fetcher;
  auto request = plain(server, "/gzip");
  request.headers["X-Key"] = "k-1";
  const auto answer = fetcher.get(request);
  EXPECT_EQ(answer.status, 200);
  EXPECT_EQ(answer.body, R"([{"s":"KLVN","p":48.41,"v":612000}])");
  EXPECT_THAT(server.peer.line(), HasSubstr("GET /gzip key=k-1 encoding=gzip"));
}

TEST(Http, PostsABody) {
  Server server("http_peer.py");
  Fetcher fetcher;
  auto request = plain(server, "/in");
  request.body = "alive";
  EXPECT_EQ(fetcher.get(request).status, 204);
  EXPECT_EQ(server.peer.line(), "POST /in alive");
}

TEST(Http, FollowsNoRedirect) {
  Server server("http_peer.py");
  Fetcher fetcher;
  const auto answer = fetcher.get(plain(server, "/redirect"));
  EXPECT_EQ(answer.status, 302);
  EXPECT_EQ(answer.headers.at("location"), "https://elsewhere.example/");
}

TEST(Http, BoundsTheBodyAlsoWhenItIsPacked) {
  Server server("http_peer.py");
  Fetcher fetcher;
  for (const char* path : {"/big", "/bomb"}) {
    const auto answer = fetcher.get(plain(server, path));
    EXPECT_EQ(answer.status, 0);
    EXPECT_THAT(answer.error, HasSubstr("longer than 1048576 bytes"));
  }
}

TEST(Http, AHalfAnswerIsNone) {
  Server server("http_peer.py");
  Fetcher fetcher;
  const auto answer = fetcher.get(plain(server, "/cut"));
  EXPECT_EQ(answer.status, 0);
  EXPECT_EQ(answer.body, "");
}

TEST(Http, WaitsNoLongerThanItIsTold) {
  Server server("http_peer.py");
  Fetcher fetcher;
  auto request = plain(server, "/stall");
  request.timeout = std::chrono::milliseconds(300);
  const auto answer = fetcher.get(request);
  EXPECT_EQ(answer.status, 0);
  EXPECT_THAT(answer.error, HasSubstr("timed out"));
}

TEST(Http, VerifiesTheServer) {
  Fetcher fetcher;
  const auto over_tls = [&](const char* shown, const char* trusted) {
    Server server("http_peer.py", with_certificate(shown));
    HttpRequest request;
    request.url = "https://127.0.0.1:" + server.port + "/gzip";
    request.ca_file = certificates() + "/" + trusted + ".pem";
    return fetcher.get(request);
  };
  EXPECT_EQ(over_tls("good", "good").status, 200);
  EXPECT_THAT(over_tls("other", "other").error, HasSubstr("no alternative certificate subject name matches"));
  EXPECT_THAT(over_tls("good", "other").error, HasSubstr("self-signed certificate"));
  EXPECT_THAT(over_tls("expired", "expired").error, HasSubstr("certificate has expired"));
}

TEST(Http, GoesThroughAProxy) {
  Server proxy("proxy_peer.py"), server("http_peer.py"), secure("http_peer.py", with_certificate("good"));
  Fetcher fetcher;
  auto request = plain(server, "/gzip");
  request.proxy = "http://127.0.0.1:" + proxy.port;
  EXPECT_EQ(fetcher.get(request).status, 200);
  EXPECT_EQ(proxy.peer.line(), "GET http://127.0.0.1:" + server.port + "/gzip");
  request.url = "https://127.0.0.1:" + secure.port + "/gzip";
  request.ca_file = certificates() + "/good.pem";
  EXPECT_EQ(fetcher.get(request).status, 200);
  EXPECT_EQ(proxy.peer.line(), "CONNECT 127.0.0.1:" + secure.port);
  request = plain(server, "/gzip");
  request.proxy = "http://localhost:" + proxy.port;  // a name, which is looked up before
  EXPECT_EQ(fetcher.get(request).status, 200);
  request.url = "https://127.0.0.1:" + secure.port + "/gzip";
  Server refusing("proxy_peer.py", {"refuse"});
  request.proxy = "http://127.0.0.1:" + refusing.port;
  EXPECT_THAT(fetcher.get(request).error, HasSubstr("407"));
}

TEST(Http, RefusesWhatIsNotEncryptedOrNotHttp) {
  Fetcher fetcher;
  HttpRequest request;
  for (const char* url : {"http://quotes.example.org/", "ftp://127.0.0.1/", "file:///etc/passwd", ""}) {
    request.url = url;
    request.insecure_loopback = true;
    EXPECT_THAT(fetcher.get(request).error, testing::AnyOf(HasSubstr("https://"), HasSubstr("not encrypted"))) << url;
  }
  request.url = "https://127.0.0.1:1/";
  request.headers["X"] = "a\nb";
  EXPECT_THAT(fetcher.get(request).error, HasSubstr("line break"));
}

TEST(Http, ManyAtOnceAndDroppedWithoutACall) {
  Server server("http_peer.py");
  Rig rig;
  int answers = 0;
  {
    HttpClient client(rig.io);
    for (int i = 0; i < 20; ++i)
      client.start(plain(server, "/gzip"), [&](const HttpAnswer& answer) { answers += answer.status == 200; });
    EXPECT_TRUE(rig.run_until([&] { return answers == 20; }));
    for (int i = 0; i < 5; ++i) client.start(plain(server, "/stall"), [&](const HttpAnswer&) { ++answers; });
    rig.io.restart();
    rig.io.run_for(std::chrono::milliseconds(20));
  }
  EXPECT_TRUE(rig.runs_dry());
  EXPECT_EQ(answers, 20);
}

// Which host an address means differs between parsers (RFC 3986 section 7.6 warns of it): here it is refused.
TEST(Http, AnAddressThatOnlyBeginsLikeLoopbackIsRefusedAndItsKeyIsNotTold) {
  for (const char* url :
       {"http://127.0.0.1:80@elsewhere.example/?key=opensesame", "http://127.0.0.1@elsewhere.example/?key=opensesame",
        "http://127.0.0.1\\@elsewhere.example/?key=opensesame", "http://127.0.0.1%40elsewhere.example/?key=opensesame",
        "http://opensesame:x@127.0.0.1/", "http://127.0.0.1.elsewhere.example/?key=opensesame", "opensesame"}) {
    HttpRequest request;
    request.url = url;
    request.insecure_loopback = true;
    Fetcher fetcher;
    const auto answer = fetcher.get(request);
    EXPECT_EQ(answer.status, 0) << url;
    EXPECT_THAT(answer.error, testing::AnyOf(HasSubstr("not an https:// address"), HasSubstr("not encrypted"))) << url;
    EXPECT_THAT(answer.error, testing::Not(HasSubstr("opensesame")));
  }
}

TEST(Http, TheEnvironmentChoosesNoProxy) {
  Server server("http_peer.py");
  for (const char* name : {"http_proxy", "all_proxy"}) ::setenv(name, "http://127.0.0.1:9", 1);
  Fetcher fetcher;
  EXPECT_EQ(fetcher.get(plain(server, "/gzip")).status, 200);
  for (const char* name : {"http_proxy", "all_proxy"}) ::unsetenv(name);
}

}  // namespace
}  // namespace brimwatch
