using HilRunner.Scoring.Changes;

namespace HilRunner.Scoring.Limits;

/// <summary>One output's figures with what its limits need beside them.</summary>
/// <param name="Dwells">Times between successive observed changes, with the class that was held.</param>
/// <param name="WithinNs">The scenario's bound on reactions.</param>
/// <param name="ReportKnown">Whether report latencies can be known in this run.</param>
internal sealed record ScoredOutput(OutputScore Score, IReadOnlyList<Dwell> Dwells, long? WithinNs, bool ReportKnown);
