#pragma once
// One connection to a house's etcd, used by one thread.
#include <string>

#include "adapters/etcd/etcd_log.h"
#include "adapters/etcd/gateway.h"

namespace brimwatch {

class EtcdConnection {
 public:
  EtcdConnection(SharedSettings settings, EtcdWorld world) : settings_(std::move(settings)), world_(std::move(world)) {}
  ~EtcdConnection();
  EtcdConnection(const EtcdConnection&) = delete;
  EtcdConnection& operator=(const EtcdConnection&) = delete;

  /// Blocks for as long as the request's patience at the most.
  LogAnswer ask(const LogRequest& request);

 private:
  struct Reply {
    long status = 0;  ///< of HTTP; 0: none
    std::string body;
    std::string words;   ///< where there is none: why
    bool given = false;  ///< something may have reached the other side
  };
  Reply post(const GatewayCall& call, Nanos until);
  Reply post_to(const std::string& address, const GatewayCall& call, Nanos patience);
  std::string take_token(Nanos until);
  void prepare(const std::string& address, const GatewayCall& call, Nanos patience);

  SharedSettings settings_;
  EtcdWorld world_;
  void* handle_ = nullptr;  ///< CURL, kept for its connection
  std::size_t current_ = 0;
  std::string token_;
};

}  // namespace brimwatch
