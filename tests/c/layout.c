/* Layout of every struct, version numbers and memory sizes: what a header and a library could disagree about.
 *
 * Prints one line per struct and field with its offset and size; the Rust test prints the same lines from the Rust
 * types and compares.
 */
#include "expect.h"

#define STRUCT(type) printf("%s %u\n", #type, (unsigned)sizeof(oddheat_##type))
#define FIELD(type, field) \
  printf("%s.%s %u %u\n", #type, #field, (unsigned)offsetof(oddheat_##type, field), \
         (unsigned)sizeof(((oddheat_##type *)0)->field))

static void print_layout(void) {
  STRUCT(config);
  FIELD(config, struct_size);
  FIELD(config, abi_version);
  FIELD(config, width_px);
  FIELD(config, height_px);
  FIELD(config, regions_max);
  FIELD(config, shapes_max);
  FIELD(config, full_scale_counts);
  FIELD(config, saturated_at_counts);
  FIELD(config, dead_at_or_below_counts);
  FIELD(config, connectivity);
  FIELD(config, min_area_px);
  FIELD(config, scale);
  FIELD(config, curve_a_um);
  FIELD(config, curve_b_um_k);
  FIELD(config, curve_c_counts);
  FIELD(config, curve_offset_counts);
  FIELD(config, curve_shape);
  FIELD(config, linear_counts_per_kelvin);
  FIELD(config, linear_zero_celsius);
  FIELD(config, emissivity_q15);
  FIELD(config, emissivity_u_q15);
  FIELD(config, transmittance_q15);
  FIELD(config, ifov_urad);
  FIELD(config, reflected_mk);
  FIELD(config, medium_mk);
  FIELD(config, netd_mk);
  FIELD(config, calibration_u_mk);
  FIELD(config, slope_u_ppm);
  FIELD(config, drift_u_mk);
  FIELD(config, uniformity_u_mk);
  FIELD(config, reflected_u_mk);
  FIELD(config, air_u_mk);
  FIELD(config, transmittance_u_q15);
  FIELD(config, medium_u_centikelvin);
  STRUCT(frame);
  FIELD(frame, struct_size);
  FIELD(frame, time_ms);
  FIELD(frame, view);
  FIELD(frame, shutter);
  FIELD(frame, housing_mk);
  STRUCT(region);
  FIELD(region, area_px);
  FIELD(region, centroid_x_q16);
  FIELD(region, centroid_y_q16);
  FIELD(region, mean_counts_q8);
  FIELD(region, peak_mk);
  FIELD(region, x0_px);
  FIELD(region, y0_px);
  FIELD(region, x1_px);
  FIELD(region, y1_px);
  FIELD(region, peak_counts);
  FIELD(region, peak_x_px);
  FIELD(region, peak_y_px);
  FIELD(region, strength_counts);
  FIELD(region, sign);
  FIELD(region, incomplete);
  STRUCT(summary);
  FIELD(summary, regions_found);
  FIELD(summary, regions_written);
  FIELD(summary, regions_dropped);
  STRUCT(place);
  FIELD(place, struct_size);
  FIELD(place, role);
  FIELD(place, view);
  FIELD(place, shape);
  FIELD(place, x_px);
  FIELD(place, y_px);
  FIELD(place, a_px);
  FIELD(place, b_px);
  FIELD(place, emissivity_q15);
  FIELD(place, emissivity_u_q15);
  STRUCT(condition);
  FIELD(condition, condition);
  FIELD(condition, thousandths);
  STRUCT(evidence);
  FIELD(evidence, value_q16);
  FIELD(evidence, uncertainty_q16);
  FIELD(evidence, metric);
  FIELD(evidence, role);
  FIELD(evidence, view);
  FIELD(evidence, limit);
  FIELD(evidence, grade);
  FIELD(evidence, reaches);
  STRUCT(failed_gate);
  FIELD(failed_gate, gate);
  FIELD(failed_gate, stops);
  FIELD(failed_gate, condition);
  FIELD(failed_gate, role);
  FIELD(failed_gate, view);
  STRUCT(finding);
  FIELD(finding, struct_size);
  FIELD(finding, check);
  FIELD(finding, grade);
  FIELD(finding, reaches);
  FIELD(finding, symptom);
  FIELD(finding, suspect_role);
  FIELD(finding, suspect_view);
  FIELD(finding, evidence_count);
  FIELD(finding, gates_count);
  FIELD(finding, causes_count);
  FIELD(finding, tests_count);
  FIELD(finding, cautions_count);
  FIELD(finding, notes_count);
  FIELD(finding, evidence);
  FIELD(finding, gates);
  FIELD(finding, causes);
  FIELD(finding, tests);
  FIELD(finding, cautions);
  FIELD(finding, notes);
  STRUCT(estimate);
  FIELD(estimate, value);
  FIELD(estimate, uncertainty);
  STRUCT(calibration_point);
  FIELD(calibration_point, kelvin);
  FIELD(calibration_point, counts);
  FIELD(calibration_point, kelvin_sd);
  FIELD(calibration_point, counts_sd);
  STRUCT(fit_options);
  FIELD(fit_options, struct_size);
  FIELD(fit_options, form);
  FIELD(fit_options, free_offset);
  FIELD(fit_options, reserved);
  FIELD(fit_options, band_from_um);
  FIELD(fit_options, band_to_um);
  FIELD(fit_options, offset_counts);
  STRUCT(fit);
  FIELD(fit, struct_size);
  FIELD(fit, points_count);
  FIELD(fit, degrees_of_freedom);
  FIELD(fit, known);
  FIELD(fit, curve_a_um);
  FIELD(fit, curve_b_um_k);
  FIELD(fit, curve_c_counts);
  FIELD(fit, curve_offset_counts);
  FIELD(fit, curve_shape);
  FIELD(fit, low_kelvin);
  FIELD(fit, high_kelvin);
  FIELD(fit, chi_square);
  FIELD(fit, covariance);
  FIELD(fit, residuals_k);
  FIELD(fit, curve_u_k);
  STRUCT(two_range);
  FIELD(two_range, struct_size);
  FIELD(two_range, reserved);
  FIELD(two_range, curve_a_um);
  FIELD(two_range, curve_b_um_k);
  FIELD(two_range, curve_c_counts);
  FIELD(two_range, curve_offset_counts);
  FIELD(two_range, curve_shape);
  FIELD(two_range, hand_over_kelvin);
  FIELD(two_range, tolerance_k);
  STRUCT(medium);
  FIELD(medium, transmittance);
  FIELD(medium, reflectance);
  FIELD(medium, kelvin);
  FIELD(medium, reflected_kelvin);
  STRUCT(surface);
  FIELD(surface, low);
  FIELD(surface, typical);
  FIELD(surface, high);
  FIELD(surface, band);
  FIELD(surface, read);
  STRUCT(inputs);
  FIELD(inputs, struct_size);
  FIELD(inputs, reserved);
  FIELD(inputs, netd_k);
  FIELD(inputs, calibration_k);
  FIELD(inputs, slope_relative);
  FIELD(inputs, drift_k);
  FIELD(inputs, uniformity_k);
  FIELD(inputs, reflected_k);
  FIELD(inputs, transmittance);
  FIELD(inputs, medium_k);
  FIELD(inputs, air_k);
  STRUCT(reading);
  FIELD(reading, struct_size);
  FIELD(reading, reserved);
  FIELD(reading, kelvin);
  FIELD(reading, noise_k);
  FIELD(reading, emissivity);
  FIELD(reading, emissivity_u);
  FIELD(reading, apparent_k);
  FIELD(reading, by_apparent);
  FIELD(reading, by_emissivity);
  FIELD(reading, by_reflected);
  FIELD(reading, by_transmittance);
  FIELD(reading, by_medium);
  FIELD(reading, by_counts);
  STRUCT(contribution);
  FIELD(contribution, component);
  FIELD(contribution, reserved);
  FIELD(contribution, coefficient);
  FIELD(contribution, input);
  FIELD(contribution, kelvin);
  FIELD(contribution, share);
  STRUCT(budget);
  FIELD(budget, struct_size);
  FIELD(budget, parts_count);
  FIELD(budget, value_k);
  FIELD(budget, standard_k);
  FIELD(budget, coverage_factor);
  FIELD(budget, expanded_k);
  FIELD(budget, parts);
  STRUCT(ring_range);
  FIELD(ring_range, least_radius_px);
  FIELD(ring_range, greatest_radius_px);
  FIELD(ring_range, edge_counts);
  FIELD(ring_range, reserved);
  STRUCT(ring);
  FIELD(ring, x_q8);
  FIELD(ring, y_q8);
  FIELD(ring, inner_q8);
  FIELD(ring, outer_q8);
  FIELD(ring, hotter);
  FIELD(ring, confidence_per_mille);
  STRUCT(pair);
  FIELD(pair, x0_px);
  FIELD(pair, y0_px);
  FIELD(pair, x1_px);
  FIELD(pair, y1_px);
  FIELD(pair, second_x0_px);
  FIELD(pair, second_y0_px);
  FIELD(pair, mirrored);
  FIELD(pair, reach_px);
  STRUCT(shift);
  FIELD(shift, dx_q8);
  FIELD(shift, dy_q8);
  FIELD(shift, confidence_per_mille);
  STRUCT(comb_area);
  FIELD(comb_area, x0_px);
  FIELD(comb_area, y0_px);
  FIELD(comb_area, x1_px);
  FIELD(comb_area, y1_px);
  FIELD(comb_area, upright);
  FIELD(comb_area, least_pitch_px);
  STRUCT(comb_line);
  FIELD(comb_line, place_px);
  FIELD(comb_line, contrast_counts);
  FIELD(comb_line, present);
  FIELD(comb_line, reserved);
  STRUCT(comb);
  FIELD(comb, pitch_px);
  FIELD(comb, slant);
  FIELD(comb, confidence_per_mille);
  FIELD(comb, lines_count);
  FIELD(comb, lines);
  STRUCT(item_row);
  FIELD(item_row, first_x_px);
  FIELD(item_row, first_y_px);
  FIELD(item_row, step_x_px);
  FIELD(item_row, step_y_px);
  FIELD(item_row, places);
  FIELD(item_row, filled);
  FIELD(item_row, confidence_per_mille);
  FIELD(item_row, reserved);
  STRUCT(sensor_config);
  FIELD(sensor_config, struct_size);
  FIELD(sensor_config, abi_version);
  FIELD(sensor_config, width_px);
  FIELD(sensor_config, height_px);
  FIELD(sensor_config, dead_at_or_below_counts);
  FIELD(sensor_config, saturated_at_counts);
  FIELD(sensor_config, bad_pixels_max);
  FIELD(sensor_config, watch_slots);
  FIELD(sensor_config, watch_frames);
  FIELD(sensor_config, watch_excursion_counts);
  FIELD(sensor_config, column_limit_counts);
  FIELD(sensor_config, column_reach_px);
  FIELD(sensor_config, column_slowness);
  FIELD(sensor_config, smoothing_shift);
  FIELD(sensor_config, correction);
  FIELD(sensor_config, shutter);
  FIELD(sensor_config, step_counts);
  FIELD(sensor_config, reserved);
  FIELD(sensor_config, warm_up_mk_per_minute);
  FIELD(sensor_config, warm_up_window_ms);
  STRUCT(pixel_correction);
  FIELD(pixel_correction, gain_q14);
  FIELD(pixel_correction, offset_q4);
  STRUCT(bad_pixel);
  FIELD(bad_pixel, x_px);
  FIELD(bad_pixel, y_px);
  FIELD(bad_pixel, kind);
  FIELD(bad_pixel, reserved);
  STRUCT(soak_point);
  FIELD(soak_point, housing_kelvin);
  FIELD(soak_point, counts);
  STRUCT(sensor_flags);
  FIELD(sensor_flags, struct_size);
  FIELD(sensor_flags, pixels);
  FIELD(sensor_flags, dead);
  FIELD(sensor_flags, saturated);
  FIELD(sensor_flags, found);
  FIELD(sensor_flags, warming_up);
  FIELD(sensor_flags, drift_unknown);
  FIELD(sensor_flags, stepped);
  FIELD(sensor_flags, step_q4);
  STRUCT(array_figures);
  FIELD(array_figures, response_q8);
  FIELD(array_figures, noise_q8);
  FIELD(array_figures, good);
  FIELD(array_figures, pixels);
  STRUCT(noise_figure);
  FIELD(noise_figure, netd_k);
  FIELD(noise_figure, signal_counts);
  FIELD(noise_figure, noise_counts);
  STRUCT(vertex);
  FIELD(vertex, x_px);
  FIELD(vertex, y_px);
  STRUCT(tool);
  FIELD(tool, struct_size);
  FIELD(tool, shape);
  FIELD(tool, x_px);
  FIELD(tool, y_px);
  FIELD(tool, a_px);
  FIELD(tool, b_px);
  FIELD(tool, axis_x_px);
  FIELD(tool, axis_y_px);
  FIELD(tool, sector);
  FIELD(tool, sectors);
  FIELD(tool, emissivity_q15);
  FIELD(tool, emissivity_u_q15);
  FIELD(tool, above_mk);
  FIELD(tool, above_u_mk);
  FIELD(tool, vertices_count);
  FIELD(tool, vertices);
  STRUCT(measurement);
  FIELD(measurement, struct_size);
  FIELD(measurement, frames);
  FIELD(measurement, count_px);
  FIELD(measurement, rejected_px);
  FIELD(measurement, mean_q16);
  FIELD(measurement, mean_u_q16);
  FIELD(measurement, median_q16);
  FIELD(measurement, median_u_q16);
  FIELD(measurement, minimum_q16);
  FIELD(measurement, minimum_u_q16);
  FIELD(measurement, maximum_q16);
  FIELD(measurement, maximum_u_q16);
  FIELD(measurement, deviation_q16);
  FIELD(measurement, area);
  FIELD(measurement, area_px);
  FIELD(measurement, area_u_q8);
  STRUCT(likeness);
  FIELD(likeness, difference);
  FIELD(likeness, uncertainty);
  FIELD(likeness, scatter);
  FIELD(likeness, score);
  STRUCT(line);
  FIELD(line, struct_size);
  FIELD(line, lines);
  FIELD(line, x0_q8);
  FIELD(line, y0_q8);
  FIELD(line, x1_q8);
  FIELD(line, y1_q8);
  STRUCT(point);
  FIELD(point, place);
  FIELD(point, value);
  STRUCT(line_fit);
  FIELD(line_fit, center);
  FIELD(line_fit, level);
  FIELD(line_fit, slope);
  STRUCT(peak);
  FIELD(peak, place);
  FIELD(peak, height);
  FIELD(peak, width);
  STRUCT(edge);
  FIELD(edge, place);
  FIELD(edge, before);
  FIELD(edge, behind);
  FIELD(edge, width);
  STRUCT(exponential);
  FIELD(exponential, end);
  FIELD(exponential, amplitude);
  FIELD(exponential, constant);
  STRUCT(decay);
  FIELD(decay, height);
  FIELD(decay, length);
  STRUCT(knee);
  FIELD(knee, place);
  FIELD(knee, value);
  FIELD(knee, before);
  FIELD(knee, after);
  STRUCT(display_config);
  FIELD(display_config, struct_size);
  FIELD(display_config, abi_version);
  FIELD(display_config, width_px);
  FIELD(display_config, zoom);
  FIELD(display_config, smooth);
  FIELD(display_config, dead_at_or_below_counts);
  FIELD(display_config, saturated_at_counts);
  FIELD(display_config, bins);
  FIELD(display_config, every_rows);
  FIELD(display_config, low_thousandths);
  FIELD(display_config, high_thousandths);
  FIELD(display_config, least_span_counts);
  FIELD(display_config, slowness);
  FIELD(display_config, reserved);
  STRUCT(level_figures);
  FIELD(level_figures, struct_size);
  FIELD(level_figures, known);
  FIELD(level_figures, readings);
  FIELD(level_figures, below);
  FIELD(level_figures, above);
  FIELD(level_figures, median_q8);
  FIELD(level_figures, deviation_q8);
  FIELD(level_figures, sigma_q8);
  FIELD(level_figures, noise_q8);
  FIELD(level_figures, upper);
  FIELD(level_figures, split_counts);
  FIELD(level_figures, separability);
  STRUCT(detection_rule);
  FIELD(detection_rule, struct_size);
  FIELD(detection_rule, sigmas);
  FIELD(detection_rule, frames);
  FIELD(detection_rule, floor_mk);
  FIELD(detection_rule, emissivity_thousandths);
  FIELD(detection_rule, reflected_mk);
  STRUCT(detection);
  FIELD(detection, difference_q16);
  FIELD(detection, term);
  FIELD(detection, hot_counts);
  FIELD(detection, cold_counts);
}

static void versions_agree(void) {
  EXPECT(oddheat_abi_version() == ODDHEAT_ABI_VERSION);
  EXPECT(oddheat_version() == (((uint32_t)ODDHEAT_VERSION_MAJOR << 16) | ((uint32_t)ODDHEAT_VERSION_MINOR << 8) |
                               (uint32_t)ODDHEAT_VERSION_PATCH));
}

/* The macro is for static arrays and the function for run time: two formulas that must be one. */
static void sizes_agree(void) {
  static const uint16_t widths[] = {1, 2, 3, 7, 8, 80, 160, 161, 320, 640, 1024, 65535};
  static const uint16_t regions[] = {1, 2, 3, 31, 32, 64, 256, 32766};
  static const uint16_t shapes[] = {0, 1, 2, 5, 16, 65535};
  for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++) {
    for (size_t r = 0; r < sizeof regions / sizeof regions[0]; r++) {
      for (size_t s = 0; s < sizeof shapes / sizeof shapes[0]; s++) {
        oddheat_config config;
        size_t bytes = 0;
        EXPECT_STATUS(OK, oddheat_config_init(&config, widths[w], 1));
        config.regions_max = regions[r];
        config.shapes_max = shapes[s];
        EXPECT_STATUS(OK, oddheat_mem_size(&config, &bytes));
        EXPECT(bytes == ODDHEAT_MEM_SIZE(widths[w], regions[r], shapes[s]));
        EXPECT(bytes % 8u == 0);
      }
    }
  }
}

static void sensor_sizes_agree(void) {
  static const uint16_t widths[] = {32, 33, 80, 161, 640};
  static const uint16_t bad[] = {1, 3, 64, 1000};
  static const uint16_t slots[] = {0, 1, 16, 63};
  for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++) {
    for (size_t b = 0; b < sizeof bad / sizeof bad[0]; b++) {
      for (size_t s = 0; s < sizeof slots / sizeof slots[0]; s++) {
        for (uint16_t steps = 0; steps < 8; steps++) {
          oddheat_sensor_config config;
          size_t bytes = 0;
          /* Every choice of steps; shutter frames need the correction. */
          const uint16_t smoothing = (uint16_t)(steps & 1u), columns = (uint16_t)(steps >> 1 & 1u);
          const uint16_t correction = (uint16_t)(steps >> 2 & 1u), shutter = (uint16_t)(correction && smoothing);
          EXPECT_STATUS(OK, oddheat_sensor_config_init(&config, widths[w], 24));
          config.bad_pixels_max = bad[b];
          config.watch_slots = slots[s];
          config.smoothing_shift = smoothing;
          config.column_limit_counts = columns;
          config.correction = correction;
          config.shutter = shutter;
          EXPECT_STATUS(OK, oddheat_sensor_mem_size(&config, &bytes));
          EXPECT(bytes == ODDHEAT_SENSOR_MEM_SIZE(widths[w], 24, smoothing + correction + shutter, columns, bad[b],
                                                  slots[s]));
        }
      }
    }
  }
}

static void tools_sizes_agree(void) {
  static const uint32_t counts[] = {1, 2, 3, 8, 255, 65535};
  for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
    size_t bytes = 0;
    EXPECT_STATUS(OK, oddheat_tools_mem_size(counts[i], &bytes));
    EXPECT(bytes == ODDHEAT_TOOLS_MEM_SIZE(counts[i]));
    if (counts[i] >= 16) {
      EXPECT_STATUS(OK, oddheat_trace_mem_size(counts[i], &bytes));
      EXPECT(bytes == ODDHEAT_TRACE_MEM_SIZE(counts[i]));
    }
  }
}

static void profile_sizes_agree(void) {
  oddheat_config config;
  oddheat_line line = {(uint32_t)sizeof line, 1, 0, 0, 0, 0};
  EXPECT_STATUS(OK, oddheat_config_init(&config, 2048, 4));
  for (uint32_t length = 3; length <= 2047; length += 7) {
    size_t bytes = 0;
    line.x1_q8 = length << 8;
    EXPECT_STATUS(OK, oddheat_profile_mem_size(&config, &line, &bytes));
    EXPECT(bytes == ODDHEAT_PROFILE_MEM_SIZE(length + 1u));
  }
}

static void display_sizes_agree(void) {
  static const uint16_t widths[] = {1, 2, 3, 80, 161, 640, 65535};
  static const uint16_t zooms[] = {1, 2, 3, 8, 64};
  static const uint16_t bins[] = {2, 3, 256, 65535};
  for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++) {
    for (size_t z = 0; z < sizeof zooms / sizeof zooms[0]; z++) {
      for (size_t b = 0; b < sizeof bins / sizeof bins[0]; b++) {
        oddheat_display_config config;
        size_t bytes = 0;
        EXPECT_STATUS(OK, oddheat_display_config_init(&config, widths[w]));
        config.zoom = zooms[z];
        config.bins = bins[b];
        EXPECT_STATUS(OK, oddheat_display_mem_size(&config, &bytes));
        EXPECT(bytes == ODDHEAT_DISPLAY_MEM_SIZE(widths[w], zooms[z], bins[b]));
      }
    }
  }
}

static void level_sizes_agree(void) {
  static const uint32_t bins[] = {2, 3, 128, 65535};
  for (size_t a = 0; a < sizeof bins / sizeof bins[0]; a++) {
    for (size_t b = 0; b < sizeof bins / sizeof bins[0]; b++) {
      size_t bytes = 0;
      EXPECT_STATUS(OK, oddheat_level_mem_size(bins[a], bins[b], &bytes));
      EXPECT(bytes == ODDHEAT_LEVEL_MEM_SIZE(bins[a], bins[b]));
    }
  }
}

static void change_sizes_agree(void) {
  static const uint16_t sizes[] = {1, 2, 7, 8, 80, 161, 640, 65535};
  for (size_t w = 0; w < sizeof sizes / sizeof sizes[0]; w++) {
    for (size_t h = 0; h < sizeof sizes / sizeof sizes[0]; h++) {
      for (uint32_t block = 1; block <= 8; block *= 2) {
        oddheat_config config;
        size_t bytes = 0;
        EXPECT_STATUS(OK, oddheat_config_init(&config, sizes[w], sizes[h]));
        EXPECT_STATUS(OK, oddheat_change_mem_size(&config, block, &bytes));
        EXPECT(bytes == ODDHEAT_CHANGE_MEM_SIZE(sizes[w], sizes[h], block));
      }
    }
  }
}

/* Of frames of at least a block either way. */
static void local_sizes_agree(void) {
  static const uint16_t sizes[] = {4, 5, 31, 80, 161, 640, 4096};
  static const uint16_t sides[] = {4, 5, 16, 31, 127, 128};
  for (size_t w = 0; w < sizeof sizes / sizeof sizes[0]; w++) {
    for (size_t h = 0; h < sizeof sizes / sizeof sizes[0]; h++) {
      for (size_t s = 0; s < sizeof sides / sizeof sides[0] && sides[s] <= sizes[w] && sides[s] <= sizes[h]; s++) {
        oddheat_config config;
        size_t bytes = 0;
        EXPECT_STATUS(OK, oddheat_config_init(&config, sizes[w], sizes[h]));
        EXPECT_STATUS(OK, oddheat_local_mem_size(&config, sides[s], &bytes));
        EXPECT(bytes == ODDHEAT_LOCAL_MEM_SIZE(sizes[w], sizes[h], sides[s]));
      }
    }
  }
}

int main(void) {
  print_layout();
  versions_agree();
  sizes_agree();
  sensor_sizes_agree();
  tools_sizes_agree();
  profile_sizes_agree();
  display_sizes_agree();
  level_sizes_agree();
  change_sizes_agree();
  local_sizes_agree();
  return expect_failures == 0 ? 0 : 1;
}
