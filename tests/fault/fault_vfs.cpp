#include "fault_vfs.h"

#include <sqlite3.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "support/whole_file.h"

namespace brimwatch {
namespace {

/// SQLite's file with ours around it; the system's own follows in the same memory.
struct WrappedFile {
  sqlite3_file base;
  FaultVfs* owner;
  std::string* path;  ///< none: a temporary file, not part of the image
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

WrappedFile* wrapped(sqlite3_file* file) { return reinterpret_cast<WrappedFile*>(file); }
sqlite3_file* real(sqlite3_file* file) { return wrapped(file)->real(); }

void put_write(std::string& content, const FileImage::Write& write) {
  const auto offset = static_cast<std::size_t>(write.offset);
  if (write.truncates) return content.resize(offset);
  if (content.size() < offset + write.bytes.size()) content.resize(offset + write.bytes.size());
  content.replace(offset, write.bytes.size(), write.bytes);
}

FileImage* image_of(sqlite3_file* file) {
  const WrappedFile* w = wrapped(file);
  return w->path == nullptr ? nullptr : &w->owner->disk_of_calls()[*w->path];
}

int change(sqlite3_file* file, const FileImage::Write& write) {
  WrappedFile* w = wrapped(file);
  const int code = w->owner->before_call(w->path != nullptr ? w->path->c_str() : nullptr, &write);
  if (code == SQLITE_OK && w->path != nullptr) image_of(file)->pending.push_back(write);
  return code;
}

int do_close(sqlite3_file* file) {
  const int code = real(file)->pMethods->xClose(real(file));
  delete wrapped(file)->path;
  return code;
}
int do_read(sqlite3_file* f, void* to, int n, sqlite3_int64 at) { return real(f)->pMethods->xRead(real(f), to, n, at); }
int do_write(sqlite3_file* f, const void* from, int n, sqlite3_int64 at) {
  const int code = change(f, {at, std::string(static_cast<const char*>(from), static_cast<std::size_t>(n)), false});
  return code != SQLITE_OK ? code : real(f)->pMethods->xWrite(real(f), from, n, at);
}
int do_truncate(sqlite3_file* f, sqlite3_int64 size) {
  const int code = change(f, {size, {}, true});
  return code != SQLITE_OK ? code : real(f)->pMethods->xTruncate(real(f), size);
}
int do_sync(sqlite3_file* f, int flags) {
  WrappedFile* w = wrapped(f);
  const int code = w->owner->before_call(nullptr, nullptr);
  FileImage* const image = image_of(f);
  if (code != SQLITE_OK) {
    // What a failed fsync leaves: the system has forgotten that these were to be written.
    if (image != nullptr) image->pending.clear();
    return code;
  }
  if (image != nullptr) image->sync();
  return real(f)->pMethods->xSync(real(f), flags);
}
int do_size(sqlite3_file* f, sqlite3_int64* size) { return real(f)->pMethods->xFileSize(real(f), size); }
int do_lock(sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); }
int do_unlock(sqlite3_file* f, int level) { return real(f)->pMethods->xUnlock(real(f), level); }
int do_check_lock(sqlite3_file* f, int* out) { return real(f)->pMethods->xCheckReservedLock(real(f), out); }
int do_control(sqlite3_file* f, int op, void* arg) { return real(f)->pMethods->xFileControl(real(f), op, arg); }
int do_sector(sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); }
int do_traits(sqlite3_file*) { return 0; }  // the weakest disk: nothing is atomic, nothing is in order
int do_shm_map(sqlite3_file* f, int page, int size, int extend, void volatile** out) {
  return real(f)->pMethods->xShmMap(real(f), page, size, extend, out);
}
int do_shm_lock(sqlite3_file* f, int offset, int n, int flags) {
  return real(f)->pMethods->xShmLock(real(f), offset, n, flags);
}
void do_shm_barrier(sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); }
int do_shm_unmap(sqlite3_file* f, int remove) { return real(f)->pMethods->xShmUnmap(real(f), remove); }

constexpr sqlite3_io_methods kMethods{2,         do_close,   do_read,     do_write,       do_truncate,  do_sync,
                                      do_size,   do_lock,    do_unlock,   do_check_lock,  do_control,   do_sector,
                                      do_traits, do_shm_map, do_shm_lock, do_shm_barrier, do_shm_unmap, nullptr,
                                      nullptr};

FaultVfs* owner_of(sqlite3_vfs* vfs) { return static_cast<FaultVfs*>(vfs->pAppData); }
sqlite3_vfs* system_vfs() { return sqlite3_vfs_find("unix"); }

int vfs_open(sqlite3_vfs* vfs, const char* path, sqlite3_file* file, int flags, int* out_flags) {
  WrappedFile* w = wrapped(file);
  w->base.pMethods = nullptr;
  w->owner = owner_of(vfs);
  w->path = nullptr;
  if ((flags & SQLITE_OPEN_READWRITE) != 0) {
    if (const int code = w->owner->before_call(nullptr, nullptr); code != SQLITE_OK) return SQLITE_CANTOPEN;
  }
  if (const int code = system_vfs()->xOpen(system_vfs(), path, w->real(), flags, out_flags); code != SQLITE_OK)
    return code;
  w->base.pMethods = &kMethods;
  if (path != nullptr) {
    w->path = new std::string(path);
    w->owner->disk_of_calls().try_emplace(path, FileImage{test::whole_file(path), {}});
  }
  return SQLITE_OK;
}

int vfs_delete(sqlite3_vfs* vfs, const char* path, int sync_dir) {
  if (const int code = owner_of(vfs)->before_call(nullptr, nullptr); code != SQLITE_OK) return code;
  owner_of(vfs)->disk_of_calls().erase(path);
  return system_vfs()->xDelete(system_vfs(), path, sync_dir);
}

}  // namespace

std::string FileImage::after_power_loss(std::mt19937_64& random) const {
  std::string content = durable;
  std::vector<Write> left = pending;
  if (random() % 2 == 0) std::shuffle(left.begin(), left.end(), random);
  for (Write& write : left) {
    const auto fate = random() % 3;
    if (fate == 0) continue;
    if (fate == 1 && !write.truncates) write.bytes.resize(random() % (write.bytes.size() + 1));
    put_write(content, write);
  }
  return content;
}

void FileImage::sync() {
  for (const Write& write : pending) put_write(durable, write);
  pending.clear();
}

FaultVfs::FaultVfs() {
  static int number = 0;
  name_ = "fault-" + std::to_string(++number);
  auto* vfs = new sqlite3_vfs(*system_vfs());
  vfs->pNext = nullptr;
  vfs->zName = name_.c_str();
  vfs->pAppData = this;
  vfs->szOsFile = static_cast<int>(sizeof(WrappedFile)) + system_vfs()->szOsFile;
  vfs->xOpen = vfs_open;
  vfs->xDelete = vfs_delete;
  sqlite3_vfs_register(vfs, 0);
  vfs_ = vfs;
}

FaultVfs::~FaultVfs() {
  auto* vfs = static_cast<sqlite3_vfs*>(vfs_);
  sqlite3_vfs_unregister(vfs);
  delete vfs;
}

int FaultVfs::before_call(const char* path, const FileImage::Write* write) {
  ++calls_;
  if (calls_ == image_at_) {
    kept_ = disk_;
    if (path != nullptr) (*kept_)[path].pending.push_back(*write);  // it may have got there, or in part
  }
  if (fail_at_ == 0 || calls_ < fail_at_ || (calls_ > fail_at_ && !for_ever_)) return SQLITE_OK;
  ++failed_;
  return code_;
}

void put_back(const DiskImage& image, const std::string& folder, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::filesystem::create_directories(folder);
  for (const auto& [path, file] : image) {
    const std::string target = folder + "/" + std::filesystem::path(path).filename().string();
    std::ofstream(target, std::ios::binary | std::ios::trunc) << file.after_power_loss(random);
  }
}

}  // namespace brimwatch
