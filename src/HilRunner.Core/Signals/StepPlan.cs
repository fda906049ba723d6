namespace HilRunner.Core.Signals;

/// <summary>A step whose inputs have been read and found good.</summary>
internal abstract class StepPlan
{
    /// <summary>Samples it will contribute; may be more than fit in memory, which is checked before <see cref="Build"/>.</summary>
    public abstract long SampleCount { get; }

    /// <param name="first">Index of the step's first sample in the stimulus.</param>
    public abstract StepMotion Build(StepContext context, long first);
}
