namespace HilRunner.Core.Acceptance;

/// <summary>A plan that ends as soon as its claims are decided; all of it is fixed before the first run.</summary>
/// <param name="Good">Share recognised, above that of every claim, at which a device should be accepted.</param>
/// <param name="Risk">Chance, at most, of not accepting such a device.</param>
/// <param name="MostTrials">Independent trials after which it ends at the latest; null: all that the recordings give.</param>
public sealed record SequentialRule(double Good, double Risk, int? MostTrials);
