"""The invented demonstration: twelve clients, two wipes, and the untidiness of real records.

Studio, artist and clients are invented. Dates are replayed, so that the journal and the records
fit together as they would in a real study.
"""

from pmulab.demo.scenario import Scenario, scenario

__all__ = ["Scenario", "scenario"]
