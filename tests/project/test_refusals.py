"""Each argument of the public physics that has an accepted range is refused just outside of it.

The refusal names the field, its unit and the range. The ranges are the project's own decisions,
narrow enough to catch a wrong unit; they stand here a second time, so that one that moves in the
code is seen. A row gives usual values; an argument with a range as a plain tuple (value, low, high,
unit).
"""

import math

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.units import number_text
from airover.physics import (
    air,
    air_path,
    ball_bearing,
    bearing_loads,
    circuit,
    coil,
    compiled,
    compressor,
    fan,
    fan_points,
    heat,
    insulation,
    oil,
    operating_point,
    sleeve_bearing,
    sleeve_running,
    thermal_network,
    thermal_transient,
    transient,
    unbalance,
)

ANY = math.inf
FORCE = (-1e5, 1e5, "N")
LOAD = (0.0, 1e9, "N")
LOAD_ABOVE_ZERO = (1e-9, 1e9, "N")
SPEED = (1.0, 5000.0, "rpm")
VOLTAGE = (1.0, 1000.0, "V")
FREQUENCY = (10.0, 120.0, "Hz")
OHM = (0.0, 1e9, "ohm")
OHM_ABOVE_ZERO = (1e-6, 1e9, "ohm")
WATT = (0.0, 5000.0, "W")
TEMP_AIR = (-60.0, 90.0, "degC")
TEMP_WINDING = (-60.0, 400.0, "degC")
TEMP_BEARING = (-40.0, 150.0, "degC")
DENSITY = (0.4, 2.0, "kg/m3")
FLOW = (0.0, 20.0, "m3/s")
FLOW_OF_A_COIL = (0.01, 20.0, "m3/s")
SHELL_DIAMETER, SHELL_LENGTH = (0.02, 0.5, "m"), (0.02, 1.0, "m")
FACTOR = (0.001, 1000.0, "")
HEAT = (0.0, 1e5, "W")
KILOGRAM = (0.0, 100.0, "kg")
FILM_START = (0.0, 3.0, "rad")
VISCOSITY = (5e-7, 5e-3, "m2/s")

MOTOR = circuit.CapacitorRun(
    poles=6,
    frequency=60.0,
    R1=18.0,
    X1=17.0,
    R2=16.0,
    X2=17.0,
    Xm=180.0,
    turns_ratio=1.2,
    R_aux=30.0,
    X_aux=25.0,
    capacitance=7.5e-6,
)
SLEEVE = sleeve_running.Sleeve(
    diameter=0.0127,
    length=0.019,
    clearance=12e-6,
    roughness_shaft=0.2e-6,
    roughness_bore=0.6e-6,
    viscosity_40=68e-6,
    viscosity_100=9e-6,
)
BODY = thermal_network.usual_network(0.14, 0.12)
WARM = thermal_network.Nodes.all_at(40.0)  # as temperatures and as losses
CURVE = fan.FanCurve([0.0, 0.6, 1.2], [80.0, 60.0, 0.0], [170.0, 160.0, 130.0], 1075.0, 1.2)
SYSTEM = air_path.System(20.0, (5.0,), 1.2)


def row(function, **arguments):
    return function, arguments


ROWS = [
    row(air.standard_pressure, elevation=(10.0, -500.0, 6000.0, "m")),
    row(air.saturation_pressure, temp_air=(20.0, *TEMP_AIR)),
    row(
        air.moist_air_density,
        temp_air=20.0,
        pressure=(101325.0, 40e3, 110e3, "Pa"),
        relative_humidity=(0.5, 0.0, 1.0, ""),
    ),
    row(air.properties, temp_air=(20.0, -60.0, 200.0, "degC")),
    row(
        ball_bearing.rating_life,
        load_rating=(9560.0, *LOAD_ABOVE_ZERO),
        load=(100.0, *LOAD_ABOVE_ZERO),
        speed_rpm=(1075.0, *SPEED),
        a1=(1.0, 0.001, 50.0, ""),
        a_iso=(1.0, 0.001, 50.0, ""),
    ),
    row(ball_bearing.reliability_factor, reliability=(0.95, 0.9, 0.9995, "")),
    row(
        ball_bearing.equivalent_load,
        load_radial=(50.0, *LOAD),
        load_axial=(20.0, *LOAD),
        load_rating_static=(4500.0, *LOAD_ABOVE_ZERO),
        f0=(13.0, 5.0, 20.0, ""),
    ),
    row(ball_bearing.static_load, load_radial=(50.0, *LOAD), load_axial=(20.0, *LOAD)),
    row(
        ball_bearing.static_safety,
        load_rating_static=(4500.0, *LOAD_ABOVE_ZERO),
        load=(50.0, *LOAD_ABOVE_ZERO),
    ),
    row(ball_bearing.minimum_load, load_rating=(9560.0, *LOAD_ABOVE_ZERO)),
    row(ball_bearing.fatigue_load_limit, load_rating_static=(4500.0, *LOAD_ABOVE_ZERO)),
    row(
        ball_bearing.reference_viscosity,
        speed_rpm=(1075.0, *SPEED),
        diameter_pitch=(0.03, 0.005, 0.5, "m"),
    ),
    row(
        ball_bearing.contamination_factor,
        kappa=(1.0, 0.1, 1000.0, ""),
        diameter_pitch=(0.03, 0.005, 0.5, "m"),
        cleanliness="high cleanliness",
    ),
    row(
        ball_bearing.a_iso,
        kappa=(1.0, 0.1, 1000.0, ""),
        contamination_ratio=(0.5, 0.0, 1e6, ""),
    ),
    row(
        ball_bearing.grease_life,
        temp_bearing=(70.0, *TEMP_BEARING),
        half_life_subtraction=(1.0, 0.0, 10.0, ""),
    ),
    row(ball_bearing.grease_reliability_factor, reliability=(0.95, 0.9, 0.9995, "")),
    row(
        ball_bearing.system_life,
        lives=([100.0], 1e-6, 1e30, "h"),
        exponent=(1.5, 0.5, 5.0, ""),
    ),
    row(
        bearing_loads.reactions,
        force=(10.0, *FORCE),
        overhang=(0.05, 0.0, 1.0, "m"),
        span=(0.1, 0.01, 2.0, "m"),
    ),
    row(
        bearing_loads.axial_forces,
        weight=(20.0, *FORCE),
        thrust=(12.0, *FORCE),
        shaft_position="down",
        discharge="up",
    ),
    row(
        bearing_loads.loads,
        blade_mass=(1.5, *KILOGRAM),
        rotor_mass=(2.0, *KILOGRAM),
        blade_unbalance=(1.0, *FORCE),
        rotor_unbalance=(0.5, *FORCE),
        thrust=(12.0, *FORCE),
        overhang=(0.05, 0.0, 1.0, "m"),
        span=(0.1, 0.01, 2.0, "m"),
        shaft_position="horizontal",
        discharge="up",
    ),
    row(
        bearing_loads.shock_force,
        mass=(3.0, *KILOGRAM),
        shock=(10.0, 0.0, 1000.0, "times gravity"),
    ),
    row(
        fan.changed_fan,
        flow=(1.1, *FLOW),
        pressure=(35.0, -100.0, 2000.0, "Pa"),
        power=(200.0, *WATT),
        blades=(4, 2.0, 8.0, "blades"),
        blades_new=(4, 2.0, 8.0, "blades"),
        pitch=(0.4, math.radians(12), math.radians(40), "rad"),
        pitch_new=(0.4, math.radians(12), math.radians(40), "rad"),
    ),
    row(
        circuit.capacitance,
        current=(1.0, 0.001, 100.0, "A"),
        voltage=(370.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
    ),
    row(
        circuit.life,
        voltage=(370.0, *VOLTAGE),
        temp_capacitor=(70.0, -60.0, 130.0, "degC"),
        voltage_rated=(370.0, *VOLTAGE),
        life_class="B",
        temp_rated=(70.0, -60.0, 130.0, "degC"),
        exponent=(8.0, 1.0, 20.0, ""),
        halving_interval=(10.0, 5.0, 20.0, "K"),
    ),
    row(
        circuit.single_winding,
        voltage=(230.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
        poles=(6, 2.0, 24.0, ""),
        slip=(0.05, -1.0, 3.0, ""),
        R1=(20.0, *OHM),
        X1=(15.5, *OHM),
        R2=(25.0, *OHM_ABOVE_ZERO),
        X2=(15.5, *OHM),
        Xm=(140.0, *OHM_ABOVE_ZERO),
        core_loss=(20.0, *WATT),
        friction_loss=(5.0, *WATT),
    ),
    row(
        circuit.CapacitorRun,
        poles=(6, 2.0, 24.0, ""),
        frequency=(60.0, *FREQUENCY),
        R1=(20.0, *OHM),
        X1=(15.5, *OHM),
        R2=(25.0, *OHM_ABOVE_ZERO),
        X2=(15.5, *OHM),
        Xm=(140.0, *OHM_ABOVE_ZERO),
        turns_ratio=(1.3, 0.05, 20.0, ""),
        R_aux=(42.0, *OHM),
        X_aux=(26.0, *OHM),
        capacitance=(7.5e-6, 1e-15, 2e-3, "F"),
        core_conductance=(4e-4, 0.0, 0.1, "S"),
        friction=(3e-4, 0.0, 1.0, "N m s per rad"),
    ),
    row(
        MOTOR.solve,
        voltage=(230.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
        slip=(0.1, -1.0, 3.0, ""),
    ),
    row(
        coil.leaving_temperature,
        heat=(10e3, *HEAT),
        flow=(1.0, *FLOW_OF_A_COIL),
        temp_in=(35.0, *TEMP_AIR),
        density=(1.2, *DENSITY),
    ),
    row(
        coil.entering_temperature,
        heat=(10e3, *HEAT),
        flow=(1.0, *FLOW_OF_A_COIL),
        temp_outdoor=(35.0, *TEMP_AIR),
        recirculated=(0.1, 0.0, 0.8, ""),
        density=(1.2, *DENSITY),
    ),
    row(
        coil.transfer_units,
        conductance=(1500.0, 1.0, 50e3, "W/K"),
        flow=(1.0, *FLOW_OF_A_COIL),
        density=(1.2, *DENSITY),
    ),
    row(coil.effectiveness_of, transfer_units=(1.0, 0.0, 20.0, "")),
    row(
        coil.effectiveness,
        effectiveness_rated=(0.65, 0.01, 0.99, ""),
        flow_ratio=(0.8, 0.01, 10.0, ""),
        exponent=(0.6, 0.0, 1.0, ""),
    ),
    row(
        coil.condensing_temperature,
        heat=(10e3, *HEAT),
        flow=(1.0, *FLOW_OF_A_COIL),
        temp_in=(35.0, *TEMP_AIR),
        effectiveness=(0.65, 0.01, 1.0, ""),
        density=(1.2, *DENSITY),
    ),
    row(
        compiled.settle,
        circuit=MOTOR,
        voltage=(230.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
        coefficient=(1.5e-4, 1e-8, 10.0, "N m s^2"),
    ),
    row(
        compressor.cooling_ratio,
        temp_condensing=(45.0, 20.0, 66.0, "degC"),
        temp_evaporating=(7.0, -5.0, 15.0, "degC"),
        refrigerant="R410A",
        efficiency=(0.65, 0.3, 0.9, ""),
    ),
    row(
        compressor.compressor_power,
        cooling=(10e3, 100.0, 1e5, "W"),
        temp_condensing=(45.0, 20.0, 66.0, "degC"),
        temp_evaporating=(7.0, -5.0, 15.0, "degC"),
        refrigerant="R410A",
        efficiency=(0.65, 0.3, 0.9, ""),
    ),
    row(
        heat.at_switch_off,
        time_off=([10.0, 20.0, 30.0, 40.0, 60.0], 0.0, 7200.0, "s"),
        resistance_hot=([12.0, 11.5, 11.2, 11.0, 10.8], *OHM_ABOVE_ZERO),
        resistance_end=(10.5, *OHM_ABOVE_ZERO),
        meter=(0.01, 0.0, 1000.0, "ohm"),
    ),
    row(
        fan.scale,
        flow=(1.0, *FLOW),
        pressure=(30.0, -100.0, 2000.0, "Pa"),
        power=(100.0, *WATT),
        speed_ratio=(1.1, 0.01, 100.0, ""),
        diameter_ratio=(1.1, 0.01, 100.0, ""),
        density_ratio=(0.9, 0.01, 100.0, ""),
    ),
    row(
        fan.thrust,
        flow=(1.1, *FLOW),
        pressure=(37.0, -100.0, 2000.0, "Pa"),
        diameter=(0.56, 0.01, 2.0, "m"),
        density=(1.1, *DENSITY),
    ),
    row(
        CURVE.operating_point,
        resistance=(30.0, 0.0, 1e9, "Pa s2/m6"),
        speed_rpm=(1075.0, *SPEED),
        density=(1.2, *DENSITY),
    ),
    row(
        CURVE.operating_points,
        resistance=(30.0, 0.0, 1e9, "Pa s2/m6"),
        speed_rpm=(1075.0, *SPEED),
        density=(1.2, *DENSITY),
    ),
    row(CURVE.resistances, density=(1.2, *DENSITY)),
    row(CURVE.working_powers, speed_rpm=(1075.0, *SPEED), density=(1.2, *DENSITY)),
    row(
        CURVE.flow_at_power,
        power=(150.0, *WATT),
        speed_rpm=(1075.0, *SPEED),
        density=(1.2, *DENSITY),
    ),
    row(
        fan.FanCurve,
        flow=[0.0, 0.6, 1.2],
        pressure=[80.0, 60.0, 0.0],
        power=[170.0, 160.0, 130.0],
        speed_rpm=(1075.0, *SPEED),
        density=(1.2, *DENSITY),
    ),
    row(CURVE.at, flow=(0.6, *FLOW), speed_rpm=(1075.0, *SPEED), density=(1.2, *DENSITY)),
    row(
        fan_points.outliers,
        flow=[0.0, 0.2, 0.4, 0.6, 0.8, 1.0],
        values=([80.0, 75.0, 68.0, 60.0, 45.0, 20.0], -1e6, 1e6, ""),
        threshold=(3.5, 1.0, 20.0, ""),
    ),
    row(
        heat.resistance_factor,
        temp_winding=(100.0, *TEMP_WINDING),
        temp_reference=(25.0, *TEMP_WINDING),
        material="copper",
    ),
    row(
        heat.rise_by_resistance,
        resistance_cold=(7.0, *OHM_ABOVE_ZERO),
        resistance_hot=(9.0, *OHM_ABOVE_ZERO),
        temp_cold=(20.0, *TEMP_AIR),
        temp_ambient=(40.0, *TEMP_AIR),
    ),
    row(
        heat.film_coefficient,
        diameter=(0.14, *SHELL_DIAMETER),
        speed=(5.0, 0.05, 40.0, "m/s"),
        temp_air=(50.0, *TEMP_AIR),
    ),
    row(heat.shell_area, diameter=(0.14, *SHELL_DIAMETER), length=(0.12, *SHELL_LENGTH)),
    row(
        heat.shell_rise,
        loss=(100.0, 0.0, 50000.0, "W"),
        area=(0.09, 0.001, 500.0, "m2"),
        film=(25.0, 0.1, 500.0, "W/m2K"),
        temp_air=(50.0, *TEMP_AIR),
        emissivity=(0.9, 0.0, 1.0, ""),
    ),
    row(
        heat.sun_absorbed,
        irradiance=(1000.0, 0.0, 1400.0, "W/m2"),
        absorptivity=(0.9, 0.0, 1.0, ""),
        unshaded=(0.5, 0.0, 1.0, ""),
    ),
    row(insulation.temperature_index, insulation_class=(130.0, 80.0, 250.0, "degC")),
    row(
        insulation.life,
        temp_winding=(120.0, -60.0, 300.0, "degC"),
        insulation_class="B",
        halving_interval=(10.0, 5.0, 20.0, "K"),
    ),
    row(insulation.arrhenius, insulation_class="B", halving_interval=(10.0, 5.0, 20.0, "K")),
    row(
        insulation.rise_limit,
        insulation_class="B",
        enclosure="open",
        temp_ambient=(40.0, *TEMP_AIR),
        standard="NEMA MG 1",
    ),
    row(insulation.altitude_factor, elevation=(0.0, -500.0, 6000.0, "m")),
    row(
        heat.free_film,
        diameter=(0.14, *SHELL_DIAMETER),
        length=(0.12, *SHELL_LENGTH),
        rise=(30.0, -500.0, 10e3, "K"),
        temp_air=(20.0, *TEMP_AIR),
    ),
    row(
        heat.combined_film,
        film=(25.0, 0.0, 5000.0, "W/m2K"),
        free=(5.0, 0.0, 5000.0, "W/m2K"),
    ),
    row(
        oil.oil_viscosity,
        temp_bearing=(60.0, *TEMP_BEARING),
        viscosity_40=(68e-6, *VISCOSITY),
        viscosity_100=(9e-6, *VISCOSITY),
    ),
    row(oil.oil_density, temp_bearing=(60.0, *TEMP_BEARING)),
    row(operating_point.fan_coefficient, power=(200.0, *WATT), speed_rpm=(1075.0, *SPEED)),
    row(
        operating_point.settle,
        circuit=MOTOR,
        voltage=(230.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
        coefficient=(1.5e-4, 1e-8, 10.0, "N m s^2"),
    ),
    row(
        operating_point.crossings,
        circuit=MOTOR,
        voltage=(230.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
        coefficient=(1.5e-4, 1e-8, 10.0, "N m s^2"),
    ),
    row(
        sleeve_bearing.film,
        eccentricity_ratio=(0.6, 0.01, 0.98, ""),
        length_to_diameter=(1.0, 0.02, 20.0, ""),
        start=(0.0, *FILM_START),
        around=40,
        along=4,
    ),
    row(
        sleeve_bearing.pressure_field,
        eccentricity_ratio=(0.7, 0.01, 0.98, ""),
        length_to_diameter=(0.8, 0.02, 20.0, ""),
        start=(0.0, *FILM_START),
        around=40,
        along=4,
    ),
    row(
        sleeve_bearing.film_read,
        eccentricity_ratio=(0.6, 0.01, 0.98, ""),
        length_to_diameter=(1.5, 0.2, 2.0, ""),
        start=(0.0, *FILM_START),
    ),
    row(
        sleeve_bearing.film_under_load,
        sommerfeld=(0.5, 0.0, ANY, ""),
        length_to_diameter=(1.5, 0.2, 2.0, ""),
        start=(0.0, *FILM_START),
    ),
    row(sleeve_running.regime, lambda_ratio=(2.0, 0.0, ANY, "")),
    row(
        sleeve_running.running,
        sleeve=SLEEVE,
        load=(30.0, 0.0, 1e5, "N"),
        speed_rpm=(1075.0, *SPEED),
        temp_housing=(70.0, -40.0, 140.0, "degC"),
        conductance=(0.5, 0.01, 1000.0, "W/K"),
        fed_share=(0.0, 0.0, 1.0, ""),
        start=(0.0, *FILM_START),
        friction_boundary=(0.12, 0.0, 0.5, ""),
    ),
    row(
        sleeve_running.Sleeve,
        diameter=(0.0127, 0.002, 0.1, "m"),
        length=(0.019, 0.001, 0.2, "m"),
        clearance=(12e-6, 1e-6, 3e-4, "m"),
        roughness_shaft=(0.2e-6, 1e-9, 5e-6, "m"),
        roughness_bore=(0.6e-6, 1e-9, 5e-6, "m"),
        viscosity_40=(68e-6, *VISCOSITY),
        viscosity_100=(9e-6, *VISCOSITY),
    ),
    row(
        sleeve_running.speed_at_lambda,
        sleeve=SLEEVE,
        load=(30.0, 0.0, 1e5, "N"),
        lambda_ratio=(3.0, 0.01, 100.0, ""),
        temp_oil=(40.0, *TEMP_BEARING),
        start=(0.0, *FILM_START),
    ),
    row(
        sleeve_running.revolutions_below,
        limit_rpm=(100.0, 0.0, 1e6, "rpm"),
        speed_rpm=(1075.0, *SPEED),
        ramp_time=(4.0, 0.0, 3600.0, "s"),
    ),
    row(
        sleeve_running.sleeve_pv,
        load=(20.0, 0.0, 1e5, "N"),
        speed_rpm=(1075.0, *SPEED),
        diameter=(0.0127, 0.001, 0.2, "m"),
        length=(0.019, 0.001, 0.2, "m"),
    ),
    row(
        sleeve_running.rubbing,
        diameter=(0.0127, 0.001, 0.2, "m"),
        speed_rpm=(1075.0, *SPEED),
        lambda_ratio=(2.9, 0.0, ANY, ""),
        revolutions_rubbing=(8.0, 0.0, 1e6, ""),
        starts_per_hour=(4.0, 0.0, 3600.0, ""),
    ),
    row(
        sleeve_running.wear_depth,
        wear_coefficient=(1e-16, 1e-20, 1e-10, "m2/N"),
        pressure_mean=(1e5, 0.0, 1e9, "Pa"),
        distance=(1e4, 0.0, 1e12, "m"),
    ),
    row(
        sleeve_running.wear_life,
        allowance=(25e-6, 1e-7, 0.002, "m"),
        wear_coefficient=(1e-16, 1e-20, 1e-10, "m2/N"),
        pressure_mean=(1e5, 0.0, 1e9, "Pa"),
        rubbing_speed=(1e-3, 0.0, 100.0, "m/s"),
    ),
    row(
        sleeve_running.wear_coefficient_seen,
        life_reference=(2e4, 1.0, 1e6, "h"),
        allowance=(25e-6, 1e-7, 0.002, "m"),
        pressure_mean=(1e5, 1.0, 1e9, "Pa"),
        rubbing_speed=(1e-3, 1e-9, 100.0, "m/s"),
    ),
    row(
        sleeve_running.oil_life,
        temp_oil=(60.0, *TEMP_BEARING),
        life_reference=(2e4, 1.0, 1e6, "h"),
        temp_oil_reference=(60.0, *TEMP_BEARING),
        halving_interval=(10.0, 1.0, 50.0, "K"),
    ),
    row(
        air_path.system_resistance,
        flow=(1.5, 1e-6, 20.0, "m3/s"),
        pressure=(30.0, 0.0, 2000.0, "Pa"),
    ),
    row(
        air_path.fitting_resistance,
        loss_factor=(1.2, 0.0, 1000.0, ""),
        face_area=(0.5, 0.001, 20.0, "m2"),
        density=(1.2, *DENSITY),
    ),
    row(
        air_path.resistance_at_density,
        resistance=(30.0, 0.0, 1e9, "Pa s2/m6"),
        density=(1.1, *DENSITY),
        density_ratio=0.9,
    ),
    row(
        air_path.System,
        coil=(20.0, 0.0, 1e9, "Pa s2/m6"),
        density=(1.2, *DENSITY),
    ),
    row(SYSTEM.resistance, density=(1.1, *DENSITY), dirt=(1.5, 1.0, 100.0, "")),
    row(
        thermal_network.Network,
        inside=BODY.inside,
        diameter=(0.14, *SHELL_DIAMETER),
        length=(0.12, *SHELL_LENGTH),
        area=(0.09, 0.001, 500.0, "m2"),
        hub=(0.004, 0.0, 5.0, "m2"),
        fin=(0.1, 0.0, 1000.0, "W/K"),
        capacity=BODY.capacity,
        emissivity=(0.9, 0.0, 1.0, ""),
        upright=(1.0, 0.0, 1.0, ""),
    ),
    row(
        BODY.steady,
        losses=WARM,
        film=(25.0, 0.0, 5000.0, "W/m2K"),
        temp_air=(40.0, *TEMP_AIR),
    ),
    row(
        thermal_network.usual_network,
        diameter=(0.14, *SHELL_DIAMETER),
        length=(0.12, *SHELL_LENGTH),
        hub_share=(0.25, 0.0, 0.9, ""),
        emissivity=(0.9, 0.0, 1.0, ""),
        upright=(1.0, 0.0, 1.0, ""),
    ),
    row(
        thermal_transient.follow_many,
        network=BODY,
        moment=lambda *_: thermal_transient.ThermalMoment(WARM, 25.0, 40.0),
        temps=WARM,
        duration=(1.0, 0.001, 1e7, "s"),
        step=(1.0, 0.001, 3600.0, "s"),
    ),
    row(
        thermal_transient.follow,
        network=BODY,
        moment=lambda *_: thermal_transient.ThermalMoment(WARM, 25.0, 40.0),
        temps=WARM,
        duration=(1.0, 0.001, 1e7, "s"),
    ),
    row(
        thermal_network.usual_inside,
        diameter=(0.14, *SHELL_DIAMETER),
        length=(0.12, *SHELL_LENGTH),
        ways_stator=(1.0, *FACTOR),
        ways_rotor=(1.0, *FACTOR),
        ways_shields=(1.0, *FACTOR),
    ),
    row(
        thermal_network.usual_capacity,
        diameter=(0.14, *SHELL_DIAMETER),
        length=(0.12, *SHELL_LENGTH),
        density=(3250.0, 500.0, 9000.0, "kg/m3"),
    ),
    row(
        sleeve_running.washer,
        load_axial=(30.0, 0.0, 1e5, "N"),
        speed_rpm=(1075.0, *SPEED),
        bore=(0.014, 0.002, 0.2, "m"),
        outside=(0.024, 0.002, 0.2, "m"),
        friction_coefficient=(0.08, 0.0, 1.0, ""),
    ),
    row(
        transient.disc_inertia,
        mass=(1.5, *KILOGRAM),
        diameter=(0.56, 0.01, 2.0, "m"),
        gyration=(0.5, 0.2, 1.0, ""),
    ),
    row(
        transient.integrate,
        circuit=MOTOR,
        voltage=(230.0, *VOLTAGE),
        frequency=(60.0, *FREQUENCY),
        coefficient=(1.5e-4, 0.0, 10.0, "N m s^2"),
        inertia=(0.04, 1e-5, 10.0, "kg m2"),
        duration=(0.01, 0.001, 300.0, "s"),
        speed_rpm=(0.0, -5000.0, 5000.0, "rpm"),
        wind_rpm=(0.0, -5000.0, 5000.0, "rpm"),
        phase=(0.0, -2 * math.pi, 2 * math.pi, "rad"),
        samples=(64, 16.0, 4096.0, ""),
    ),
    row(unbalance.eccentricity, grade=(6.3, 0.1, 4000.0, "mm/s"), speed_rpm=(1075.0, *SPEED)),
    row(
        unbalance.force,
        mass=(1.5, *KILOGRAM),
        grade=(6.3, 0.1, 4000.0, "mm/s"),
        speed_rpm=(1075.0, *SPEED),
    ),
    row(
        unbalance.force_of_loss,
        mass_lost=(0.02, 0.0, 1.0, "kg"),
        radius=(0.2, 0.0, 1.0, "m"),
        speed_rpm=(1075.0, *SPEED),
    ),
    row(
        unbalance.grade_of,
        force=(1.0, 0.0, 1e5, "N"),
        mass=(1.5, 0.01, 100.0, "kg"),
        speed_rpm=(1075.0, *SPEED),
    ),
]


@pytest.mark.parametrize("module", sorted({function.__module__ for function, _ in ROWS}))
def test_just_outside_of_its_range_and_what_is_not_a_number(module):
    if module.endswith(".compiled"):
        pytest.importorskip("numba")  # Macs with an Intel processor have none
    for function, arguments in ROWS:
        if function.__module__ == module:
            _refuses(function, arguments)


def _refuses(function, arguments) -> None:
    ranges = {name: one for name, one in arguments.items() if type(one) is tuple}
    usual = {name: one[0] if name in ranges else one for name, one in arguments.items()}
    function(**usual)
    for name, (value, low, high, unit) in ranges.items():
        for outside in (*_just_outside(low, high), np.nan):
            bad = [outside, *value[1:]] if isinstance(value, list) else outside
            with pytest.raises(InputError) as refused:
                function(**{**usual, name: bad})
            told = refused.value
            assert told.field == name, function
            if not np.isnan(outside):
                assert told.unit == unit, function
                ends = (number_text(end, unit=unit) for end in (low, high))
                accepted = f"{' to '.join(ends)} {unit}".strip()
                assert str(told).startswith(f"{name}: {number_text(outside, unit=unit)}"), function
                said = f"Enter a value from {accepted}."
                if np.isinf(high):
                    said = f"Enter {number_text(low, unit=unit)} {unit}".strip() + " or more."
                assert str(told).endswith(said), function


def _just_outside(low: float, high: float) -> list[float]:
    """A millionth of the range's end below it, and above it where it has an end."""
    below = low - 1e-6 * abs(low) if low else -1e-12
    return [below] if math.isinf(high) else [below, high + 1e-6 * abs(high)]
