#pragma once
// What etcd's HTTP/JSON gateway (v3, etcd 3.4 and later) is asked and answers, as text: pure. Keys and values are base64,
// whole numbers are JSON strings, and what is 0 or empty is left out.
//
// Source: etcd's api/etcdserverpb/rpc.proto and rpc.swagger.json; gRPC's status codes.
#include <string>
#include <string_view>

#include "adapters/shared_log.h"

namespace brimwatch {

struct GatewayCall {
  std::string path;  ///< "/v3/kv/txn"
  std::string body;
};
[[nodiscard]] GatewayCall gateway_call(const LogRequest& request);

/// `status` is HTTP's. An error that says that nothing was done is `refused`, every other `unknown`.
[[nodiscard]] LogAnswer gateway_answer(const LogRequest& request, long status, std::string_view body);

/// The token is missing, wrong or has died: to be asked for anew.
[[nodiscard]] bool wants_new_token(long status, std::string_view body);
[[nodiscard]] GatewayCall token_call(const std::string& user, const std::string& password);
/// Empty where the answer holds none.
[[nodiscard]] std::string token_of(std::string_view body);

}  // namespace brimwatch
