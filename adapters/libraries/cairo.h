#pragma once
// What is used of libcairo.so.2, by the library's own names without "cairo_": cairo().arc(...). A new one: one line here.
#include <cairo.h>

#include "adapters/libraries/late_library.h"

namespace brimwatch {

#define CAIRO_FUNCTION(name) decltype(&::cairo_##name) name = library.function<decltype(&::cairo_##name)>("cairo_" #name)
struct CairoLibrary {
  LateLibrary library{"libcairo.so.2"};
  CAIRO_FUNCTION(arc);
  CAIRO_FUNCTION(clip);
  CAIRO_FUNCTION(close_path);
  CAIRO_FUNCTION(create);
  CAIRO_FUNCTION(destroy);
  CAIRO_FUNCTION(fill);
  CAIRO_FUNCTION(fill_preserve);
  CAIRO_FUNCTION(image_surface_create);
  CAIRO_FUNCTION(image_surface_create_from_png_stream);
  CAIRO_FUNCTION(image_surface_get_data);
  CAIRO_FUNCTION(image_surface_get_format);
  CAIRO_FUNCTION(image_surface_get_height);
  CAIRO_FUNCTION(image_surface_get_stride);
  CAIRO_FUNCTION(image_surface_get_width);
  CAIRO_FUNCTION(line_to);
  CAIRO_FUNCTION(move_to);
  CAIRO_FUNCTION(new_path);
  CAIRO_FUNCTION(paint);
  CAIRO_FUNCTION(rectangle);
  CAIRO_FUNCTION(restore);
  CAIRO_FUNCTION(save);
  CAIRO_FUNCTION(select_font_face);
  CAIRO_FUNCTION(set_dash);
  CAIRO_FUNCTION(set_font_size);
  CAIRO_FUNCTION(set_line_cap);
  CAIRO_FUNCTION(set_line_join);
  CAIRO_FUNCTION(set_line_width);
  CAIRO_FUNCTION(set_source_rgba);
  CAIRO_FUNCTION(show_text);
  CAIRO_FUNCTION(stroke);
  CAIRO_FUNCTION(stroke_preserve);
  CAIRO_FUNCTION(surface_destroy);
  CAIRO_FUNCTION(surface_status);
  CAIRO_FUNCTION(surface_write_to_png_stream);
  CAIRO_FUNCTION(text_extents);
  CAIRO_FUNCTION(text_path);
  CAIRO_FUNCTION(version_string);
};
#undef CAIRO_FUNCTION

/// Loaded by whoever comes first, from any thread. Throws std::runtime_error where it cannot be loaded.
[[nodiscard]] const CairoLibrary& cairo();

}  // namespace brimwatch
