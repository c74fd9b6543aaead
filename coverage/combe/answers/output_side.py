"""The output side of a station as the study writes it: powers, ERP, third-order products, own outputs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.answers.on_air import OnAir, on_air, picture_system
from combe.decibels import dbw_from_watt
from combe.project import AerialIsolation, Output, OutputPiece, Project
from combe.reception import (
    THREE_TONE_TEST,
    OwnOutput,
    ProductVerdict,
    ToneCarrier,
    estimated_isolation_db,
    judge_products,
    products_in_band,
    third_order_products,
    three_tone_carriers,
)
from combe.standards import feeder_loss_db
from combe.stations import OutputBudget, OutputStage, Station, amplifier_power_for_erp_w, output_budget
from combe.words import tell

ERP_TOLERANCE_DB: Final = 0.5
"""A greater difference between the chain's ERP and the stated one is noted (our own choice)."""


@dataclass(frozen=True)
class OutputService:
    """One service's output; ``products`` are those in its channel, None where no intercept is stated.

    ``erp_difference_db`` is the ERP of the chain over the ERP that the study states; 0 where the amplifier's
    power was worked out from it.
    """

    air: OnAir
    budget: OutputBudget
    erp_difference_db: float
    products: ProductVerdict | None


@dataclass(frozen=True)
class OutputSide:
    """The output side of a station, services in the order of the station."""

    output: Output
    services: tuple[OutputService, ...]


def output_side(project: Project, station: Station) -> OutputSide | None:
    """Return the output side of a station, or None where the study says nothing of it."""
    output = project.outputs.get(station.name)
    if output is None:
        return None
    airs = [on_air(project, service) for service in station.services]
    budgets = [_budget(output, air, number) for number, air in enumerate(airs)]
    return OutputSide(
        output,
        tuple(
            OutputService(
                air,
                budget,
                budget.erp_dbw - float(dbw_from_watt(air.service.erp_w)),
                _products(project, output, airs, budgets, number),
            )
            for number, (air, budget) in enumerate(zip(airs, budgets, strict=True))
        ),
    )


def erp_notes(project: Project) -> list[str]:
    """Say where the chain of a station makes another ERP than the study states."""
    notes = []
    for station in project.stations:
        side = output_side(project, station)
        for each in side.services if side else ():
            if abs(each.erp_difference_db) > ERP_TOLERANCE_DB:
                notes.append(
                    tell(
                        "{name} {service}: amplifier, losses and gain make "
                        "{erp_w:.4g} W ERP, {erp_difference_db:+.1f} dB to erp_w "
                        "{erp_w_2:g}",
                        name=station.name,
                        service=each.budget.service,
                        erp_w=each.budget.erp_w,
                        erp_difference_db=each.erp_difference_db,
                        erp_w_2=each.air.service.erp_w,
                    )
                )
    return notes


def own_outputs(
    project: Project, relay: Station, output: OutputSide | None, own: AerialIsolation
) -> list[tuple[OwnOutput, float]]:
    """Return each output of a relay with the isolation [dB] of its aerials at the output's frequency.

    Without an output side the ERP stands for the power at the aerial, which is on the safe side.
    """
    found = []
    for number, service in enumerate(relay.services):
        air = on_air(project, service)
        power_dbm = float(dbw_from_watt(service.erp_w)) + 30.0
        if output is not None:
            power_dbm = output.services[number].budget.points[-1].power_dbm
        emission = OwnOutput(service.name, air.channel, power_dbm, own.out_of_channel_db)
        found.append((emission, isolation_db(own, air.carrier_mhz)))
    return found


def isolation_db(own: AerialIsolation, frequency_mhz: float) -> float:
    """Return the isolation as measured, or its estimate at a frequency [dB], 0 to 200."""
    if own.isolation_db is not None:
        return own.isolation_db
    assert own.separation_m is not None and own.arrangement is not None, "the study has been checked"
    found_db = estimated_isolation_db(
        own.separation_m,
        frequency_mhz,
        arrangement=own.arrangement,
        transmit_gain_dbi=own.transmit_gain_dbi or 0.0,
        receive_gain_dbi=own.receive_gain_dbi or 0.0,
    )
    return min(max(found_db, 0.0), 200.0)


def isolation_words(own: AerialIsolation) -> str:
    """Say whether the isolation was measured or estimated."""
    if own.isolation_db is not None:
        return "Isolation as the study states it"
    return tell(
        "Isolation estimated from {separation_m:g} m {arrangement}; a measurement is better",
        separation_m=own.separation_m,
        arrangement=own.arrangement,
    )


def _budget(output: Output, air: OnAir, number: int) -> OutputBudget:
    stages = [OutputStage(each.name, _loss_db(each, air.carrier_mhz)) for each in output.stages]
    if output.power_w is not None:
        power_w = output.power_w[number]
    else:
        power_w = amplifier_power_for_erp_w(air.service.erp_w, stages, output.aerial_gain_dbd)
    return output_budget(air.service.name, air.carrier_mhz, power_w, stages, output.aerial_gain_dbd)


def _loss_db(piece: OutputPiece, frequency_mhz: float) -> float:
    if piece.loss_db is not None:
        return piece.loss_db
    assert piece.size is not None and piece.length_m is not None, "the study has been checked"
    return feeder_loss_db(piece.size, frequency_mhz, piece.length_m)


def _products(
    project: Project,
    output: Output,
    airs: Sequence[OnAir],
    budgets: Sequence[OutputBudget],
    number: int,
) -> ProductVerdict | None:
    """Judge the products in a service's channel, of all services of a common amplifier or of its own."""
    if output.oip3_dbm is None or output.intermodulation_limit_db is None:
        return None
    pairs = list(zip(airs, budgets, strict=True))
    together = pairs if output.common_amplifier else [pairs[number]]
    carriers = [each for air, budget in together for each in _carriers(project, air, budget)]
    if len(carriers) < 2:
        return None
    products = third_order_products(carriers, output.oip3_dbm)
    return judge_products(
        products_in_band(products, *airs[number].edges_mhz),
        reference_dbm=budgets[number].points[0].power_dbm,
        limit_db=output.intermodulation_limit_db,
    )


def _carriers(project: Project, air: OnAir, budget: OutputBudget) -> list[ToneCarrier]:
    """Return a service at the amplifier: a multiplex as one carrier, a picture as the three test tones."""
    system, power_dbm = picture_system(project, air.service), budget.points[0].power_dbm
    if system is None:
        return [ToneCarrier(air.service.name, air.carrier_mhz, power_dbm)]
    return [
        ToneCarrier(
            tell("{name} {name_2}", name=air.service.name, name_2=tone.name)[:80],
            air.carrier_mhz + tone.frequency_mhz,
            power_dbm + tone.level_dbm,
        )
        for tone in three_tone_carriers(system, THREE_TONE_TEST)
    ]
