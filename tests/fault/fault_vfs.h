#pragma once
// A file layer for SQLite that stands before the system's and fails on purpose: the n-th call, once or for ever; and that
// knows what a disk would hold if the power went now: what was synced, and of the rest whatever the seed says.
#include <cstdint>
#include <map>
#include <optional>
#include <random>
#include <string>
#include <vector>

namespace brimwatch {

/// What a file holds for certain, and what has been written since without being synced.
struct FileImage {
  struct Write {
    std::int64_t offset = 0;
    std::string bytes;
    bool truncates = false;  ///< the file ends at `offset`
  };
  std::string durable;
  std::vector<Write> pending;

  /// The file after a power loss: each unsynced write is there, or not, or in part, in any order.
  [[nodiscard]] std::string after_power_loss(std::mt19937_64& random) const;
  void sync();
};

using DiskImage = std::map<std::string, FileImage>;

class FaultVfs {
 public:
  FaultVfs();
  ~FaultVfs();
  FaultVfs(const FaultVfs&) = delete;
  FaultVfs& operator=(const FaultVfs&) = delete;

  [[nodiscard]] const std::string& name() const { return name_; }
  /// Calls that change something (open for writing, write, truncate, sync, delete), counted from 1.
  void fail_at(std::uint64_t call, int code, bool for_ever) { fail_at_ = call, code_ = code, for_ever_ = for_ever; }
  void stop_failing() { fail_at_ = 0; }
  [[nodiscard]] std::uint64_t calls() const { return calls_; }
  [[nodiscard]] std::uint64_t failed() const { return failed_; }

  /// Keeps the image of the disk as it is in the middle of that call.
  void keep_image_at(std::uint64_t call) { image_at_ = call; }
  [[nodiscard]] const std::optional<DiskImage>& image() const { return kept_; }
  [[nodiscard]] const DiskImage& disk() const { return disk_; }

  // For the C functions behind it.
  int before_call(const char* path, const FileImage::Write* write);
  DiskImage& disk_of_calls() { return disk_; }

 private:
  std::string name_;
  std::uint64_t calls_ = 0, fail_at_ = 0, failed_ = 0, image_at_ = 0;
  int code_ = 0;
  bool for_ever_ = false;
  DiskImage disk_;
  std::optional<DiskImage> kept_;
  void* vfs_ = nullptr;
};

/// Writes the image into a folder, each file under its own last name; as it would be after the power loss.
void put_back(const DiskImage& image, const std::string& folder, std::uint64_t seed);

}  // namespace brimwatch
