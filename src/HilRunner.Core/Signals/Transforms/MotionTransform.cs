using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>
/// One thing that is done to motion. Its options are plain values; <see cref="Check"/> finds all that is wrong with them before
/// anything is computed, and <see cref="Apply"/> is pure: the same motion, options and seed give the same bits on every machine.
/// </summary>
public abstract record MotionTransform
{
    private protected MotionTransform() { }

    /// <summary>The channels that must be there so that <paramref name="wanted"/> can come out.</summary>
    internal virtual IEnumerable<string> Needs(IReadOnlyCollection<string> wanted) => wanted;

    /// <returns>What comes out of motion of this form.</returns>
    internal abstract MotionForm Check(MotionForm form, TransformContext context, StepFaults faults);

    /// <param name="motion">May be changed in place, but by <see cref="Cut"/>, which takes a copy.</param>
    /// <param name="context">The one that was checked with.</param>
    /// <param name="seed">The transform's own branch, or one that it shares with transforms that draw for other purposes.</param>
    internal abstract Motion Apply(Motion motion, TransformContext context, SeedTree seed);
}

/// <summary>What transforms share: files and filters that are worth keeping.</summary>
internal sealed record TransformContext(RecordingShelf Recordings, ResamplerShelf Resamplers);
