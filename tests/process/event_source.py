"""An HTTP server (Python's own) that sends server-sent events as they are put."""
import http.server
import queue
import threading
import zlib

END = object()  # of an answer: the source closes it


class EventSource:
    """Answers each GET with status, headers and then what is put, piece by piece as it is put."""

    def __init__(self):
        source = self
        self.asked = []
        self.pieces = queue.Queue()
        self.status, self.headers, self.gzip = 200, {}, False
        self.whole = None  # (media type, body): each answer is that, and ends
        self.held_back = None  # set: nothing is sent, not even a header, until it is set as an Event
        self.feeds = {}  # by a word in the path: pieces of answers of their own

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *arguments):
                pass

            def piece(self, data):
                self.wfile.write(f"{len(data):x}\r\n".encode() + data + b"\r\n")

            def do_GET(self):
                source.asked.append((self.path, {name.lower(): value for name, value in self.headers.items()}))
                if source.held_back:
                    source.held_back.wait()
                self.send_response(source.status)
                for name, value in source.headers.items():
                    self.send_header(name, value)
                if source.status != 200 or source.whole:
                    type, body = source.whole or ("text/plain", "")
                    self.send_header("Content-Type", type)
                    self.send_header("Content-Length", str(len(body.encode())))
                    self.end_headers()
                    return self.wfile.write(body.encode())
                self.send_header("Content-Type", "text/event-stream")
                self.send_header("Transfer-Encoding", "chunked")
                packer = zlib.compressobj(wbits=31) if source.gzip else None
                if packer:
                    self.send_header("Content-Encoding", "gzip")
                self.end_headers()
                pieces = next((own for word, own in source.feeds.items() if word in self.path), source.pieces)
                for data in iter(pieces.get, END):
                    packed = packer.compress(data) + packer.flush(zlib.Z_SYNC_FLUSH) if packer else data
                    self.piece(packed)
                self.wfile.write(b"0\r\n\r\n")

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def send(self, text, cut=0):
        data = text.encode()
        for at in range(0, len(data), cut or len(data)):
            self.pieces.put(data[at:at + (cut or len(data))])

    def close(self):
        self.pieces.put(END)
        self.server.shutdown()
        self.server.server_close()
