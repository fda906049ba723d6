using HilRunner.Core.Rigs;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Benches;

/// <summary>What a rig did to a run.</summary>
internal enum Spoiled
{
    No,
    /// <summary>The run reached its end on a rig that broke its health limits.</summary>
    Unhealthy,
    /// <summary>The rig could not be reached, or was lost.</summary>
    Unreachable,
}

/// <summary>
/// How often, and after what, a run that its rig spoiled is played again: as it is, after a reset, after a power cycle, after preparing anew; each rung once. It starts no motion: the run that follows
/// is the same as any other.
/// </summary>
internal sealed class RigRecovery
{
    private readonly Queue<(string Name, IReadOnlyList<PrepareStep> Steps)> _rungs = new();

    public RigRecovery(Rig rig)
    {
        var recovery = rig.Recovery;
        for (int i = 0; i < recovery.Repeats; i++) { _rungs.Enqueue(("", [])); }
        if (recovery.Reset.Count > 0) { _rungs.Enqueue(("reset", recovery.Reset)); }
        if (recovery.PowerCycle.Count > 0) { _rungs.Enqueue(("power cycle", recovery.PowerCycle)); }
        if (recovery.Prepare) { _rungs.Enqueue(("prepared anew", rig.Prepare)); }
    }

    public static Spoiled Of(StoredRun run) => run.Manifest.EndCause switch
    {
        EndCause.LinkLost or EndCause.PlayerGone or EndCause.NotOpened or EndCause.NoAnswer => Spoiled.Unreachable,
        // A silence that is not known to be the device's own: it may answer again after a reset.
        EndCause.Completed when run.StillSilent => Spoiled.Unreachable,
        EndCause.Silent when run.Score.Health.Faults.Count > 0 => Spoiled.Unreachable,
        EndCause.Completed when run.Manifest.Injects && run.Score.Verdict == Verdict.Inconc && run.Score.Health.Faults.Count > 0 => Spoiled.Unhealthy,
        _ => Spoiled.No,
    };

    /// <summary>What to do before the run is played again; null: nothing is left.</summary>
    public (string Name, IReadOnlyList<PrepareStep> Steps)? Next(Spoiled how) =>
        how == Spoiled.No || !_rungs.TryPeek(out var rung) || (how == Spoiled.Unhealthy && rung.Steps.Count > 0) ? null : _rungs.Dequeue();
}
