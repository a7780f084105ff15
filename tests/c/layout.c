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
  FIELD(config, reserved);
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

int main(void) {
  print_layout();
  versions_agree();
  sizes_agree();
  return expect_failures == 0 ? 0 : 1;
}
