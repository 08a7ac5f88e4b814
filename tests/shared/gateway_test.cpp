// What is asked of etcd's gateway and what it answers, as text: answers as a real etcd 3.4.23 gave them.
#include "adapters/etcd/gateway.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::HasSubstr;

LogRequest renewal() {
  LogRequest request;
  request.kind = LogRequest::Kind::renew, request.lease = 12345;
  return request;
}

TEST(Gateway, writes_keys_as_base64_and_numbers_as_text) {
  LogRequest request;
  request.conditions.push_back({"a", 7});
  request.writes.push_back({"a", "b", 9});
  request.ranges.push_back({"a", "b", 3, 0, 2});
  const GatewayCall call = gateway_call(request);
  EXPECT_EQ(call.path, "/v3/kv/txn");
  EXPECT_EQ(call.body,
            R"({"compare":[{"createRevision":"7","key":"YQ==","result":"EQUAL","target":"CREATE"}],)"
            R"("failure":[{"requestRange":{"key":"YQ==","limit":"2","min_mod_revision":"3","range_end":"Yg=="}}],)"
            R"("success":[{"requestPut":{"key":"YQ==","lease":"9","value":"Yg=="}},)"
            R"({"requestRange":{"key":"YQ==","limit":"2","min_mod_revision":"3","range_end":"Yg=="}}]})");
}

TEST(Gateway, grants_whole_seconds_not_less_than_wanted) {
  LogRequest request;
  request.kind = LogRequest::Kind::grant, request.ttl = 1'500'000'000;
  EXPECT_EQ(gateway_call(request).body, R"({"TTL":"2"})");
}

TEST(Gateway, a_renewal_without_a_time_is_of_a_lease_that_has_ended) {
  const LogAnswer gone = gateway_answer(
      renewal(), 200,
      R"({"result":{"header":{"cluster_id":"324952591200643719","revision":"1","raft_term":"2"},"ID":"12345"}})");
  ASSERT_TRUE(gone.is_done());
  EXPECT_EQ(gone.ttl, 0);
  EXPECT_EQ(gone.term, 2U);
  const LogAnswer alive =
      gateway_answer(renewal(), 200, R"({"result":{"header":{"revision":"1"},"ID":"12345","TTL":"2"}})");
  EXPECT_EQ(alive.ttl, 2 * kSecond);
}

TEST(Gateway, knows_a_refusal_from_an_answer_that_tells_nothing) {
  const auto of = [](long status, std::string_view body) { return gateway_answer(LogRequest{}, status, body); };
  const LogAnswer lease = of(404, R"({"error":"etcdserver: requested lease not found","code":5})");
  EXPECT_EQ(lease.outcome, LogAnswer::Outcome::refused);
  EXPECT_THAT(lease.words, HasSubstr("requested lease not found"));
  EXPECT_EQ(of(429, R"({"error":"etcdserver: mvcc: database space exceeded","code":8})").outcome,
            LogAnswer::Outcome::refused);
  // What timed out inside etcd may have been done all the same.
  EXPECT_EQ(of(503, R"({"error":"etcdserver: request timed out","code":14})").outcome, LogAnswer::Outcome::unknown);
  EXPECT_EQ(of(504, R"({"error":"context deadline exceeded","code":4})").outcome, LogAnswer::Outcome::unknown);
  EXPECT_EQ(of(502, "<html>Bad Gateway</html>").outcome, LogAnswer::Outcome::unknown);
  EXPECT_EQ(of(0, "").outcome, LogAnswer::Outcome::unknown);
  EXPECT_EQ(of(200, "{\"succeeded\":tr").outcome, LogAnswer::Outcome::unknown);
}

TEST(Gateway, an_answer_without_the_ranges_that_were_asked_tells_nothing) {
  LogRequest request;
  request.ranges.push_back({"a"});
  EXPECT_EQ(gateway_answer(request, 200, R"({"header":{"revision":"5"},"succeeded":true})").outcome,
            LogAnswer::Outcome::unknown);
}

TEST(Gateway, wants_a_new_token_where_the_old_one_has_died) {
  EXPECT_TRUE(wants_new_token(401, R"({"error":"etcdserver: invalid auth token","code":16})"));
  EXPECT_TRUE(wants_new_token(400, R"({"error":"etcdserver: user name is empty","code":3})"));
  EXPECT_FALSE(wants_new_token(403, R"({"error":"etcdserver: permission denied","code":7})"));
  EXPECT_EQ(token_of(R"({"header":{},"token":"abc.7"})"), "abc.7");
  EXPECT_EQ(token_of("nonsense"), "");
}

}  // namespace
}  // namespace brimwatch
