using HilRunner.Core.Rigs;

namespace HilRunner.Application.Benches;

/// <summary>What a rig's file says is to be done before the first run.</summary>
internal static class RigPreparation
{
    /// <param name="keepBelow">What is on the device is read back to below this folder before anything is erased; null: it was already.</param>
    /// <param name="log">Told what the steps print.</param>
    /// <exception cref="IOException">A step failed.</exception>
    public static void Do(JobContext context, Rig rig, string? image, string? keepBelow, Action<string> log,
        CancellationToken stop)
    {
        if (rig.Prepare.Count == 0) { return; }
        var steps = new PrepareSteps(context, rig, image, log, stop);
        if (keepBelow is not null) { Erasing.Keep(rig, steps, keepBelow, context.Now, log); }
        steps.Do(rig.Prepare);
    }
}
