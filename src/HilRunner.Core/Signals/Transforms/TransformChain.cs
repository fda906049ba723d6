namespace HilRunner.Core.Signals.Transforms;

/// <summary>Transforms one after the other.</summary>
internal static class TransformChain
{
    /// <summary>The channels that must go in so that <paramref name="wanted"/> can come out.</summary>
    public static IReadOnlyList<string> Needs(IReadOnlyList<MotionTransform> chain, IEnumerable<string> wanted) =>
        [.. chain.Reverse().Aggregate(wanted, (names, transform) => [.. transform.Needs([.. names])])];
}
