#pragma once
// Strokes drawn by cairo, on any surface of its own.
#include "pictures/canvas.h"

typedef struct _cairo cairo_t;

namespace brimwatch {

/// Throws std::runtime_error where cairo is not on this machine.
void paint(const Canvas& canvas, cairo_t* on);

}  // namespace brimwatch
