/* Fits a curve, measures what an operator measures, puts a window and air into the config, and budgets a reading and a
 * difference. Prints every double by its bits: the Rust test prints the same lines from the core and compares.
 */
#include "print.h"

static void whole(const char *name, long value) { printf("%s %ld\n", name, value); }

static void budget(const char *name, const oddheat_budget *budget) {
  number(name, budget->value_k);
  number(name, budget->standard_k);
  number(name, budget->expanded_k);
  for (uint32_t i = 0; i < budget->parts_count; i++) {
    whole("part", (long)budget->parts[i].component);
    number("kelvin", budget->parts[i].kelvin);
    number("share", budget->parts[i].share);
  }
}

static oddheat_estimate about(double value, double uncertainty) {
  oddheat_estimate estimate;
  estimate.value = value;
  estimate.uncertainty = uncertainty;
  return estimate;
}

static void fit_into(oddheat_config *config, uint32_t form, uint32_t free_offset) {
  /* A blackbody seen by a curve of A = 9.36 um, B = 178 um K, C = 1e6 counts: radiometry notes 2.2, times 1e6. */
  static const double kelvin[5] = {253.15, 293.15, 333.15, 373.15, 423.15};
  static const double counts[5] = {3537.611752, 7322.192489, 12880.42145, 20250.11869, 31904.59244};
  oddheat_calibration_point points[5];
  oddheat_fit_options options;
  oddheat_fit fit;
  memset(&options, 0, sizeof options);
  options.struct_size = (uint32_t)sizeof options;
  options.form = form;
  options.free_offset = free_offset;
  fit.struct_size = (uint32_t)sizeof fit;
  for (int i = 0; i < 5; i++) {
    points[i].kelvin = kelvin[i];
    points[i].counts = counts[i];
    points[i].kelvin_sd = 0.02;
    points[i].counts_sd = 0.5;
  }
  EXPECT_STATUS(OK, oddheat_fit_curve(points, 5, &options, &fit));
  whole("points", (long)fit.points_count);
  whole("freedom", (long)fit.degrees_of_freedom);
  whole("known", (long)fit.known);
  number("a", fit.curve_a_um);
  number("b", fit.curve_b_um_k);
  number("c", fit.curve_c_counts);
  number("offset", fit.curve_offset_counts);
  number("shape", fit.curve_shape);
  number("low", fit.low_kelvin);
  number("high", fit.high_kelvin);
  number("chi-square", fit.chi_square);
  for (int i = 0; i < 16; i++) {
    number("covariance", fit.covariance[i]);
  }
  for (uint32_t i = 0; i < fit.points_count; i++) {
    number("residual", fit.residuals_k[i]);
    number("u", fit.curve_u_k[i]);
  }
  for (int kelvin_at = 240; kelvin_at <= 560; kelvin_at += 40) {
    double u;
    EXPECT_STATUS(OK, oddheat_fit_uncertainty(&fit, (double)kelvin_at, &u));
    number("u", u);
  }
  config->curve_a_um = fit.curve_a_um;
  config->curve_b_um_k = fit.curve_b_um_k;
  config->curve_c_counts = fit.curve_c_counts;
  config->curve_offset_counts = fit.curve_offset_counts;
  config->curve_shape = fit.curve_shape;
}

/* high is NULL or the second range: patch, contact and oven lie in it, the rest below. */
static void procedures(const oddheat_config *config, const oddheat_two_range *high) {
  const oddheat_estimate tape = about(0.95, 0.01), patch = about(381.0, 0.3), surface = about(345.0, 0.3);
  const oddheat_estimate reflected = about(295.15, 1.0), contact = about(383.15, 1.0), oven = about(403.15, 1.0);
  const oddheat_estimate foil = about(291.15, 1.0), foil_emissivity = about(0.05, 0.02);
  oddheat_estimate out;
  EXPECT_STATUS(OK, oddheat_emissivity_by_patch(config, high, &tape, &patch, &surface, &reflected, &out));
  estimate("by-patch", out);
  EXPECT_STATUS(OK, oddheat_emissivity_by_contact(config, high, &contact, &surface, &reflected, &out));
  estimate("by-contact", out);
  EXPECT_STATUS(OK, oddheat_reflected_by_foil(config, high, &reflected, &foil_emissivity, &foil, &out));
  estimate("by-foil", out);
  EXPECT_STATUS(OK, oddheat_reflected_by_foil(config, high, &oven, &foil_emissivity, &foil, &out));
  estimate("by-foil", out);
  static const double emissivities[4] = {0.3, 0.31, 0.5, 0.95};
  for (int i = 0; i < 4; i++) {
    uint32_t gate;
    EXPECT_STATUS(OK, oddheat_emissivity_gate(emissivities[i], &gate));
    whole("gate", (long)gate);
  }
  for (int mm = 8; mm <= 10; mm++) {
    uint32_t measured;
    EXPECT_STATUS(OK, oddheat_spot_check((double)mm, 1.0, 3.0, &measured));
    whole("measured", (long)measured);
  }
}

static void surfaces(void) {
  for (uint32_t i = 0; i < oddheat_surface_count(); i++) {
    char text[4][96];
    oddheat_surface surface;
    uint32_t found;
    size_t needed;
    EXPECT_STATUS(OK, oddheat_surface_at(i, &surface));
    for (uint32_t which = 0; which < 4; which++) {
      EXPECT_STATUS(OK, oddheat_surface_text(i, which + 1, text[which], sizeof text[which], &needed));
      EXPECT(needed == strlen(text[which]) + 1);
    }
    EXPECT_STATUS(OK, oddheat_surface_find(text[0], strlen(text[0]), &found));
    EXPECT(found == i);
    printf("%s|%s|%s|%s|%u|%u\n", text[0], text[1], text[2], text[3], (unsigned)surface.band, (unsigned)surface.read);
    number("low", surface.low);
    number("typical", surface.typical);
    number("high", surface.high);
  }
}

static void path(oddheat_config *config, const oddheat_two_range *high) {
  oddheat_estimate air;
  oddheat_medium media[2];
  EXPECT_STATUS(OK, oddheat_path_transmittance(ODDHEAT_PATH_BAND_7P5_TO_13, 3.0, 23.0, 0.5, &air));
  estimate("air", air);
  EXPECT_STATUS(OK, oddheat_path_transmittance(ODDHEAT_PATH_BAND_8_TO_14, 3.0, 23.0, 0.5, &air));
  estimate("air", air);
  media[0].transmittance = air.value;
  media[0].reflectance = 0.0;
  media[0].kelvin = media[0].reflected_kelvin = 296.15;
  media[1].transmittance = 0.90;
  media[1].reflectance = 0.04;
  media[1].kelvin = 298.15;
  media[1].reflected_kelvin = 385.15;
  EXPECT_STATUS(OK, oddheat_config_behind(config, high, media, 2));
  whole("transmittance", config->transmittance_q15);
  whole("medium", config->medium_mk);
}

static void budgets(const oddheat_config *config, const oddheat_two_range *high) {
  const oddheat_estimate factors[2] = {about(1.1, 0.02), about(1.0, 0.01)};
  oddheat_estimate ratio;
  oddheat_reading hot, cool;
  oddheat_inputs inputs;
  oddheat_budget out;
  hot.struct_size = cool.struct_size = (uint32_t)sizeof hot;
  out.struct_size = (uint32_t)sizeof out;
  EXPECT_STATUS(OK, oddheat_inputs_init(config, &inputs));
  EXPECT_STATUS(OK, oddheat_reading_at(config, high, 423.15, 0.02, &hot));
  EXPECT_STATUS(OK, oddheat_reading_at(config, high, 341.15, 0.03, &cool));
  number("apparent", hot.apparent_k);
  EXPECT_STATUS(OK, oddheat_budget_of(&hot, &inputs, 2.0, &out));
  budget("budget", &out);
  for (uint32_t relation = 0; relation < 8; relation++) {
    EXPECT_STATUS(OK, oddheat_difference(&hot, &cool, relation, &inputs, 3.0, &out));
    budget("difference", &out);
    EXPECT_STATUS(OK, oddheat_rise_ratio(&hot, &cool, 296.15, NULL, relation, &inputs, &ratio));
    estimate("ratio", ratio);
    EXPECT_STATUS(OK, oddheat_rise_ratio(&hot, &cool, 296.15, factors, relation, &inputs, &ratio));
    estimate("ratio", ratio);
  }
}

/* One curve up to 100 degrees Celsius and a steeper one above: what is asked of both, and the temperatures of a device
 * in mK over all counts. */
static void two_ranges(oddheat_config *low) {
  static uint64_t block[ODDHEAT_MEM_SIZE(80, 32, 0) / 8u];
  oddheat_two_range high;
  oddheat *device;
  high.struct_size = (uint32_t)sizeof high;
  high.reserved = 0;
  high.curve_a_um = 9.36;
  high.curve_b_um_k = 178.0;
  high.curve_c_counts = 2e6;
  high.curve_offset_counts = -20250.0;
  high.curve_shape = 1.0;
  high.hand_over_kelvin = 373.15;
  high.tolerance_k = 0.5;
  procedures(low, &high);
  path(low, &high);
  budgets(low, &high);
  EXPECT_STATUS(OK, oddheat_init_two_range(block, sizeof block, low, &high, &device));
  for (uint32_t counts = 0; counts < 65536; counts += 251) {
    int32_t mk = 0;
    const oddheat_status status = oddheat_temperature(device, counts << 8, &mk);
    printf("at %u %d\n", (unsigned)counts, status == ODDHEAT_STATUS_OK ? (int)mk : 0);
  }
}

int main(void) {
  oddheat_config config;
  EXPECT_STATUS(OK, oddheat_config_init(&config, 80, 60));
  config.emissivity_q15 = 29491;
  config.emissivity_u_q15 = 655;
  config.reflected_mk = 296150;
  config.reflected_u_mk = 2000;
  config.calibration_u_mk = 500;
  config.transmittance_u_q15 = 164;
  config.medium_u_centikelvin = 200;
  fit_into(&config, ODDHEAT_FIT_FREE_SHAPE, 0);
  fit_into(&config, ODDHEAT_FIT_PLANCKIAN, 1);
  fit_into(&config, ODDHEAT_FIT_PLANCKIAN, 0);
  oddheat_config direct = config;
  procedures(&config, NULL);
  surfaces();
  path(&config, NULL);
  budgets(&config, NULL);
  two_ranges(&direct);
  double netd;
  EXPECT_STATUS(OK, oddheat_netd(5.0, 500.0, 6.2, &netd));
  number("netd", netd);
  return expect_failures == 0 ? 0 : 1;
}
