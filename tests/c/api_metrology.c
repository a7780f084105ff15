/* Calibration, procedures and budgets through the C interface: every function, every error, and nothing written on an
 * error. What they compute is compared in metrology.c.
 *
 * Prints what failed; exit code 0 if nothing did. Also run under valgrind and the sanitizers.
 */
#include "expect.h"

static void *misaligned(const void *pointer) { return (unsigned char *)(uintptr_t)pointer + 1; }

static double not_a_number(void) {
  volatile double zero = 0.0;
  return zero / zero;
}

static oddheat_config config_of(void) {
  oddheat_config config;
  EXPECT_STATUS(OK, oddheat_config_init(&config, 80, 60));
  config.curve_a_um = 9.36;
  config.curve_b_um_k = 178.0;
  config.curve_c_counts = 1e6;
  config.emissivity_q15 = ODDHEAT_Q15(0.9);
  return config;
}

static void fits(void) {
  oddheat_calibration_point points[18];
  oddheat_fit_options options;
  oddheat_fit fit;
  /* Counts of the curve above: radiometry notes 2.2, times 1e6. */
  static const double kelvin[4] = {253.15, 293.15, 333.15, 373.15};
  static const double counts[4] = {3537.611752, 7322.192489, 12880.42145, 20250.11869};
  memset(points, 0, sizeof points);
  memset(&options, 0, sizeof options);
  options.struct_size = (uint32_t)sizeof options;
  for (int i = 0; i < 18; i++) {
    points[i].kelvin = i < 4 ? kelvin[i] : 400.0 + i;
    points[i].counts = i < 4 ? counts[i] : 40000.0 + i;
  }
  GUARD(fit);
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_fit_curve(points, 4, &options, &fit));
  EXPECT(UNTOUCHED(fit));
  fit.struct_size = (uint32_t)sizeof fit;
  const oddheat_fit before = fit;
  EXPECT_STATUS(ERR_NULL, oddheat_fit_curve(NULL, 4, &options, &fit));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_curve(points, 4, NULL, &fit));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_curve(points, 4, &options, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_fit_curve((oddheat_calibration_point *)misaligned(points), 3, &options, &fit));
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_fit_curve(points, 2, &options, &fit));
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_fit_curve(NULL, 0, &options, &fit));
  EXPECT_STATUS(ERR_TOO_MANY, oddheat_fit_curve(points, 17, &options, &fit));
#define REFUSED(wanted, field, value) \
  do { \
    oddheat_fit_options other = options; \
    other.field = (value); \
    EXPECT_STATUS(wanted, oddheat_fit_curve(points, 4, &other, &fit)); \
  } while (0)
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_UNSUPPORTED, reserved, 1);
  REFUSED(ERR_RANGE, form, 2);
  REFUSED(ERR_RANGE, free_offset, 2);
  REFUSED(ERR_RANGE, band_to_um, 1000.0);
  REFUSED(ERR_RANGE, offset_counts, 4000.0); /* not below all counts */
  REFUSED(ERR_RANGE, offset_counts, not_a_number());
#undef REFUSED
  points[1].counts = 3000.0;
  EXPECT_STATUS(ERR_NOT_MONOTONIC, oddheat_fit_curve(points, 4, &options, &fit));
  points[1].counts = 7322.192489;
  points[0].kelvin = -1.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_fit_curve(points, 4, &options, &fit));
  points[0].kelvin = 253.15;
  points[0].kelvin_sd = 0.1; /* stated for one point only */
  EXPECT_STATUS(ERR_RANGE, oddheat_fit_curve(points, 4, &options, &fit));
  points[0].kelvin_sd = 0.0;
  /* Counts that do not bend as radiation does. */
  points[2].counts = 7323.0;
  points[3].counts = 7324.0;
  EXPECT_STATUS(ERR_NO_FIT, oddheat_fit_curve(points, 4, &options, &fit));
  points[2].counts = counts[2];
  points[3].counts = counts[3];
  EXPECT(memcmp(&before, &fit, sizeof fit) == 0);

  /* As many points as coefficients and no uncertainty stated: nothing is known but the curve. */
  EXPECT_STATUS(OK, oddheat_fit_curve(points, 3, &options, &fit));
  EXPECT(fit.known == 0 && fit.points_count == 3 && fit.degrees_of_freedom == 0);
  EXPECT(fit.curve_a_um > 9.3599 && fit.curve_a_um < 9.3601);
  double u;
  GUARD(u);
  EXPECT_STATUS(ERR_TOO_FEW, oddheat_fit_uncertainty(&fit, 300.0, &u));
  options.free_offset = 1;
  EXPECT_STATUS(OK, oddheat_fit_curve(points, 4, &options, &fit));
  EXPECT(fit.known == ODDHEAT_FIT_HAS_FREE_OFFSET);
  options.free_offset = 0;
  EXPECT_STATUS(OK, oddheat_fit_curve(points, 4, &options, &fit));
  EXPECT(fit.known == ODDHEAT_FIT_HAS_COVARIANCE);

  EXPECT_STATUS(ERR_NULL, oddheat_fit_uncertainty(NULL, 300.0, &u));
  EXPECT_STATUS(ERR_NULL, oddheat_fit_uncertainty(&fit, 300.0, NULL));
  EXPECT_STATUS(ERR_MEM_ALIGN, oddheat_fit_uncertainty((oddheat_fit *)misaligned(&fit), 300.0, &u));
#define REFUSED(wanted, field, value) \
  do { \
    oddheat_fit other = fit; \
    other.field = (value); \
    EXPECT_STATUS(wanted, oddheat_fit_uncertainty(&other, 300.0, &u)); \
  } while (0)
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_UNSUPPORTED, known, fit.known | 16);
  REFUSED(ERR_RANGE, known, fit.known | ODDHEAT_FIT_HAS_FREE_SHAPE); /* a free shape goes with B = 0 */
  REFUSED(ERR_RANGE, curve_shape, 1.1);                              /* and a free B with a shape of 1 */
  REFUSED(ERR_RANGE, curve_a_um, not_a_number());
  REFUSED(ERR_RANGE, covariance[5], not_a_number());
#undef REFUSED
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_fit_uncertainty(&fit, 0.0, &u));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_fit_uncertainty(&fit, 2001.0, &u));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_fit_uncertainty(&fit, not_a_number(), &u));
  EXPECT(UNTOUCHED(u));
  EXPECT_STATUS(OK, oddheat_fit_uncertainty(&fit, fit.low_kelvin, &u));
  EXPECT(u == fit.curve_u_k[0]);
}

static void procedures(void) {
  const oddheat_config config = config_of();
  oddheat_config bad = config;
  const oddheat_estimate tape = {0.95, 0.01}, patch = {361.0, 0.3}, surface = {345.0, 0.3}, reflected = {295.15, 1.0};
  const oddheat_estimate cool = {300.0, 0.3}, negative = {345.0, -0.3}, bright = {1.5, 0.0}, cold = {250.0, 0.3}, vague = {345.0, 1e200};
  oddheat_estimate out;
  uint32_t answer;
  bad.curve_a_um = 0.0;
  GUARD(out), GUARD(answer);
#define PATCH(wanted, config, tape, patch, surface, reflected, out) \
  EXPECT_STATUS(wanted, oddheat_emissivity_by_patch(config, NULL, tape, patch, surface, reflected, out))
  PATCH(ERR_NULL, NULL, &tape, &patch, &surface, &reflected, &out);
  PATCH(ERR_NULL, &config, NULL, &patch, &surface, &reflected, &out);
  PATCH(ERR_NULL, &config, &tape, NULL, &surface, &reflected, &out);
  PATCH(ERR_NULL, &config, &tape, &patch, NULL, &reflected, &out);
  PATCH(ERR_NULL, &config, &tape, &patch, &surface, NULL, &out);
  PATCH(ERR_NULL, &config, &tape, &patch, &surface, &reflected, NULL);
  PATCH(ERR_RANGE, &bad, &tape, &patch, &surface, &reflected, &out);
  PATCH(ERR_RANGE, &config, &bright, &patch, &surface, &reflected, &out);
  PATCH(ERR_RANGE, &config, &tape, &patch, &negative, &reflected, &out);
  PATCH(ERR_RANGE, &config, &tape, &patch, &vague, &reflected, &out);
  PATCH(ERR_NO_SIGNAL, &config, &tape, &cool, &surface, &reflected, &out);
  PATCH(ERR_CONTRADICTION, &config, &tape, &patch, &cold, &reflected, &out);
#undef PATCH
  bad = config;
  bad.struct_size = 0;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_emissivity_by_contact(&bad, NULL, &patch, &surface, &reflected, &out));
  EXPECT_STATUS(ERR_NULL, oddheat_emissivity_by_contact(&config, NULL, NULL, &surface, &reflected, &out));
  EXPECT_STATUS(ERR_NO_SIGNAL, oddheat_emissivity_by_contact(&config, NULL, &cool, &surface, &reflected, &out));
  EXPECT_STATUS(ERR_NULL, oddheat_reflected_by_foil(&config, NULL, &cool, NULL, &cool, &out));
  EXPECT_STATUS(ERR_RANGE, oddheat_reflected_by_foil(&config, NULL, &cool, &tape, &cool, &out));
  EXPECT_STATUS(ERR_NULL, oddheat_emissivity_gate(0.9, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_emissivity_gate(0.0, &answer));
  EXPECT_STATUS(ERR_RANGE, oddheat_emissivity_gate(not_a_number(), &answer));
  EXPECT_STATUS(ERR_NULL, oddheat_spot_check(9.0, 1.0, 3.0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_spot_check(9.0, 0.0, 3.0, &answer));
  EXPECT_STATUS(ERR_RANGE, oddheat_spot_check(9.0, 1.0, not_a_number(), &answer));
  EXPECT_STATUS(ERR_NULL, oddheat_path_transmittance(ODDHEAT_PATH_BAND_8_TO_14, 1.0, 20.0, 0.5, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_path_transmittance(0, 1.0, 20.0, 0.5, &out));
  EXPECT_STATUS(ERR_RANGE, oddheat_path_transmittance(ODDHEAT_PATH_BAND_8_TO_14, 11.0, 20.0, 0.5, &out));
  EXPECT_STATUS(ERR_RANGE, oddheat_path_transmittance(ODDHEAT_PATH_BAND_8_TO_14, 1.0, 20.0, 1.5, &out));
  EXPECT(UNTOUCHED(out) && UNTOUCHED(answer));
}

static void surfaces(void) {
  oddheat_surface surface;
  uint32_t index;
  char text[8];
  size_t needed;
  GUARD(surface), GUARD(index), GUARD(text), GUARD(needed);
  EXPECT_STATUS(ERR_RANGE, oddheat_surface_at(oddheat_surface_count(), &surface));
  EXPECT_STATUS(ERR_NULL, oddheat_surface_at(0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_surface_find("gold", 4, &index));
  EXPECT_STATUS(ERR_RANGE, oddheat_surface_find(NULL, 0, &index));
  EXPECT_STATUS(ERR_NULL, oddheat_surface_find(NULL, 4, &index));
  EXPECT_STATUS(ERR_RANGE, oddheat_surface_text(0, 0, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_RANGE, oddheat_surface_text(9999, ODDHEAT_SURFACE_TEXT_KEY, text, sizeof text, &needed));
  EXPECT_STATUS(ERR_NULL, oddheat_surface_text(0, ODDHEAT_SURFACE_TEXT_KEY, text, sizeof text, NULL));
  EXPECT(UNTOUCHED(surface) && UNTOUCHED(index) && UNTOUCHED(text) && UNTOUCHED(needed));
  EXPECT_STATUS(OK, oddheat_surface_find("tire-rubber", 11, &index));
  EXPECT_STATUS(OK, oddheat_surface_text(index, ODDHEAT_SURFACE_TEXT_KEY, text, sizeof text, &needed));
  EXPECT(needed == 12 && strcmp(text, "tire-ru") == 0);
  EXPECT_STATUS(OK, oddheat_surface_text(index, ODDHEAT_SURFACE_TEXT_KEY, NULL, 0, &needed));
  EXPECT(needed == 12);
}

static void media(void) {
  oddheat_config config = config_of();
  oddheat_medium medium[9];
  for (int i = 0; i < 9; i++) {
    medium[i].transmittance = 0.9;
    medium[i].reflectance = 0.05;
    medium[i].kelvin = medium[i].reflected_kelvin = 300.0;
  }
  const oddheat_config before = config;
  EXPECT_STATUS(ERR_NULL, oddheat_config_behind(NULL, NULL, medium, 1));
  EXPECT_STATUS(ERR_NULL, oddheat_config_behind(&config, NULL, NULL, 1));
  EXPECT_STATUS(ERR_TOO_MANY, oddheat_config_behind(&config, NULL, medium, 9));
  medium[0].reflectance = 0.2;
  EXPECT_STATUS(ERR_RANGE, oddheat_config_behind(&config, NULL, medium, 1));
  medium[0].reflectance = 0.05;
  medium[0].transmittance = 0.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_config_behind(&config, NULL, medium, 1));
  medium[0].transmittance = 1e-6; /* nothing is left that a config could state */
  EXPECT_STATUS(ERR_RANGE, oddheat_config_behind(&config, NULL, medium, 1));
  medium[0].transmittance = 0.9;
  medium[0].reflected_kelvin = not_a_number();
  EXPECT_STATUS(ERR_RANGE, oddheat_config_behind(&config, NULL, medium, 1));
  EXPECT(memcmp(&config, &before, sizeof config) == 0);
  EXPECT_STATUS(OK, oddheat_config_behind(&config, NULL, NULL, 0));
  EXPECT(config.transmittance_q15 == 32768);
}

static void two_ranges(void) {
  static uint64_t block[ODDHEAT_MEM_SIZE(80, 32, 0) / 8u];
  oddheat_config config = config_of();
  oddheat_two_range good;
  oddheat *device;
  memset(&good, 0, sizeof good);
  good.struct_size = (uint32_t)sizeof good;
  good.curve_a_um = 9.36;
  good.curve_b_um_k = 178.0;
  good.curve_c_counts = 1e6;
  good.curve_shape = 1.0;
  good.hand_over_kelvin = 373.15;
  good.tolerance_k = 0.5;
  GUARD(device);
  EXPECT_STATUS(ERR_NULL, oddheat_init_two_range(block, sizeof block, &config, NULL, &device));
  EXPECT_STATUS(ERR_NULL, oddheat_init_two_range(block, sizeof block, NULL, &good, &device));
  EXPECT_STATUS(ERR_NULL, oddheat_init_two_range(NULL, sizeof block, &config, &good, &device));
  EXPECT_STATUS(ERR_NULL, oddheat_init_two_range(block, sizeof block, &config, &good, NULL));
  EXPECT_STATUS(ERR_MEM_TOO_SMALL, oddheat_init_two_range(block, sizeof block - 1, &config, &good, &device));
#define REFUSED(wanted, field, value) \
  do { \
    oddheat_two_range other = good; \
    other.field = (value); \
    EXPECT_STATUS(wanted, oddheat_init_two_range(block, sizeof block, &config, &other, &device)); \
  } while (0)
  REFUSED(ERR_UNSUPPORTED, struct_size, 0);
  REFUSED(ERR_UNSUPPORTED, reserved, 1);
  REFUSED(ERR_RANGE, curve_a_um, 0.0);
  REFUSED(ERR_RANGE, tolerance_k, 0.0);
  REFUSED(ERR_RANGE, hand_over_kelvin, not_a_number());
  REFUSED(ERR_CURVES_DIFFER, curve_offset_counts, 5000.0);
#undef REFUSED
  EXPECT(UNTOUCHED(device));

  /* What takes a second range takes NULL for none, and refuses what oddheat_init_two_range() refuses. */
  const oddheat_estimate hot = {381.0, 0.3}, warm = {345.0, 0.3}, cool = {295.15, 1.0}, share = {0.5, 0.01};
  const oddheat_config before = config;
  oddheat_two_range bad = good;
  oddheat_estimate out;
  oddheat_reading reading;
  GUARD(out);
  bad.curve_offset_counts = 5000.0;
#define ALL_REFUSE(wanted, high) \
  EXPECT_STATUS(wanted, oddheat_emissivity_by_patch(&config, high, &share, &hot, &warm, &cool, &out)); \
  EXPECT_STATUS(wanted, oddheat_emissivity_by_contact(&config, high, &hot, &warm, &cool, &out)); \
  EXPECT_STATUS(wanted, oddheat_reflected_by_foil(&config, high, &hot, &share, &cool, &out)); \
  EXPECT_STATUS(wanted, oddheat_config_behind(&config, high, NULL, 0)); \
  EXPECT_STATUS(wanted, oddheat_reading_at(&config, high, 350.0, 0.1, &reading)); \
  EXPECT_STATUS(wanted, oddheat_reading_of(&config, high, 15000.0, 9, 1, 0.0, &reading))
  GUARD(reading);
  reading.struct_size = (uint32_t)sizeof reading;
  const oddheat_reading unread = reading;
  ALL_REFUSE(ERR_CURVES_DIFFER, &bad);
  bad = good;
  bad.struct_size = 0;
  ALL_REFUSE(ERR_UNSUPPORTED, &bad);
  ALL_REFUSE(ERR_MEM_ALIGN, (oddheat_two_range *)misaligned(&good));
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 100.0;
  ALL_REFUSE(ERR_RANGE, &good);
#undef ALL_REFUSE
  config = before;
  EXPECT(UNTOUCHED(out) && memcmp(&unread, &reading, sizeof reading) == 0);

  EXPECT_STATUS(OK, oddheat_init_two_range(block, sizeof block, &config, &good, &device));
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 100.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_init_two_range(block, sizeof block, &config, &good, &device));
}

static void budgets(void) {
  const oddheat_config config = config_of();
  oddheat_config bad = config;
  oddheat_reading reading, second;
  oddheat_inputs inputs;
  oddheat_budget budget;
  bad.struct_size = 0;
  GUARD(reading), GUARD(inputs), GUARD(budget);
  EXPECT_STATUS(ERR_NULL, oddheat_inputs_init(NULL, &inputs));
  EXPECT_STATUS(ERR_NULL, oddheat_inputs_init(&config, NULL));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_inputs_init(&bad, &inputs));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_reading_at(&config, NULL, 350.0, 0.1, &reading));
  EXPECT(UNTOUCHED(reading) && UNTOUCHED(inputs));
  EXPECT_STATUS(OK, oddheat_inputs_init(&config, &inputs));
  reading.struct_size = (uint32_t)sizeof reading;
  const oddheat_reading before = reading;
  EXPECT_STATUS(ERR_NULL, oddheat_reading_at(NULL, NULL, 350.0, 0.1, &reading));
  EXPECT_STATUS(ERR_NULL, oddheat_reading_at(&config, NULL, 350.0, 0.1, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_reading_at(&config, NULL, -1.0, 0.1, &reading));
  EXPECT_STATUS(ERR_RANGE, oddheat_reading_at(&config, NULL, 350.0, not_a_number(), &reading));
  EXPECT_STATUS(ERR_RANGE, oddheat_reading_of(&config, NULL, 15000.0, 0, 1, 0.0, &reading));
  EXPECT_STATUS(ERR_RANGE, oddheat_reading_of(&config, NULL, 15000.0, 9, 0, 0.0, &reading));
  EXPECT_STATUS(ERR_RANGE, oddheat_reading_of(&config, NULL, 15000.0, 9, 1, -1.0, &reading));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_reading_of(&config, NULL, 0.0, 9, 1, 0.0, &reading));
  EXPECT_STATUS(ERR_NO_TEMPERATURE, oddheat_reading_of(&config, NULL, not_a_number(), 9, 1, 0.0, &reading));
  EXPECT(memcmp(&before, &reading, sizeof reading) == 0);
  EXPECT_STATUS(OK, oddheat_reading_of(&config, NULL, 15000.0, 9, 4, 0.0, &reading));
  second = reading;

  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_budget_of(&reading, &inputs, 2.0, &budget));
  EXPECT(UNTOUCHED(budget));
  budget.struct_size = (uint32_t)sizeof budget;
  const oddheat_budget untouched = budget;
  EXPECT_STATUS(ERR_NULL, oddheat_budget_of(NULL, &inputs, 2.0, &budget));
  EXPECT_STATUS(ERR_NULL, oddheat_budget_of(&reading, NULL, 2.0, &budget));
  EXPECT_STATUS(ERR_NULL, oddheat_budget_of(&reading, &inputs, 2.0, NULL));
  EXPECT_STATUS(ERR_RANGE, oddheat_budget_of(&reading, &inputs, 0.0, &budget));
  EXPECT_STATUS(ERR_RANGE, oddheat_budget_of(&reading, &inputs, not_a_number(), &budget));
  second.by_apparent = not_a_number();
  EXPECT_STATUS(ERR_RANGE, oddheat_budget_of(&second, &inputs, 2.0, &budget));
  EXPECT_STATUS(ERR_RANGE, oddheat_difference(&reading, &second, 0, &inputs, 2.0, &budget));
  second = reading;
  second.reserved = 1;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_budget_of(&second, &inputs, 2.0, &budget));
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_difference(&reading, &reading, 8, &inputs, 2.0, &budget));
  EXPECT_STATUS(ERR_NULL, oddheat_difference(&reading, NULL, 0, &inputs, 2.0, &budget));

  const oddheat_estimate factors[3] = {{1.1, 0.02}, {1.0, 0.0}, {-1.0, 0.0}};
  oddheat_estimate ratio;
  GUARD(ratio);
#define RATIO(wanted, first, second, air, factors, relation, inputs, out) \
  EXPECT_STATUS(wanted, oddheat_rise_ratio(first, second, air, factors, relation, inputs, out))
  RATIO(ERR_NULL, NULL, &reading, 293.15, factors, 0, &inputs, &ratio);
  RATIO(ERR_NULL, &reading, NULL, 293.15, factors, 0, &inputs, &ratio);
  RATIO(ERR_NULL, &reading, &reading, 293.15, factors, 0, NULL, &ratio);
  RATIO(ERR_NULL, &reading, &reading, 293.15, factors, 0, &inputs, NULL);
  RATIO(ERR_MEM_ALIGN, &reading, &reading, 293.15, (oddheat_estimate *)misaligned(factors), 0, &inputs, &ratio);
  RATIO(ERR_UNSUPPORTED, &reading, &reading, 293.15, factors, 8, &inputs, &ratio);
  RATIO(ERR_UNSUPPORTED, &reading, &second, 293.15, factors, 0, &inputs, &ratio);
  RATIO(ERR_RANGE, &reading, &reading, 0.0, factors, 0, &inputs, &ratio);
  RATIO(ERR_RANGE, &reading, &reading, not_a_number(), factors, 0, &inputs, &ratio);
  RATIO(ERR_RANGE, &reading, &reading, 293.15, factors + 1, 0, &inputs, &ratio);
  RATIO(ERR_NO_SIGNAL, &reading, &reading, reading.kelvin, NULL, 0, &inputs, &ratio);
  EXPECT(UNTOUCHED(ratio));
  RATIO(OK, &reading, &reading, 293.15, NULL, 0, &inputs, &ratio);
  EXPECT(ratio.value == 1.0 && ratio.uncertainty > 0.0);
#undef RATIO
  inputs.drift_k = -1.0;
  EXPECT_STATUS(ERR_RANGE, oddheat_budget_of(&reading, &inputs, 2.0, &budget));
  inputs.drift_k = 0.3;
  inputs.struct_size = 0;
  EXPECT_STATUS(ERR_UNSUPPORTED, oddheat_budget_of(&reading, &inputs, 2.0, &budget));
  inputs.struct_size = (uint32_t)sizeof inputs;
  EXPECT(memcmp(&untouched, &budget, sizeof budget) == 0);

  /* A reading minus itself keeps what two places of a frame do not share: noise and non-uniformity. */
  const uint32_t alike = ODDHEAT_RELATION_SAME_VIEW | ODDHEAT_RELATION_SAME_SURFACE;
  EXPECT_STATUS(OK, oddheat_difference(&reading, &reading, alike, &inputs, 2.0, &budget));
  EXPECT(budget.value_k == 0.0 && budget.parts_count == 9);
  for (uint32_t i = 0; i < budget.parts_count; i++) {
    const int own = budget.parts[i].component == ODDHEAT_COMPONENT_NOISE ||
                    budget.parts[i].component == ODDHEAT_COMPONENT_UNIFORMITY;
    EXPECT((budget.parts[i].kelvin > 0.0) == own);
  }
}

int main(void) {
  fits();
  procedures();
  surfaces();
  media();
  two_ranges();
  budgets();
  return expect_failures == 0 ? 0 : 1;
}
