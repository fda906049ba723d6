namespace HilRunner.Core.Models;

/// <summary>A class reported by the host model: after sample <paramref name="N"/> (0 = first sample fed) the class changed to
/// <paramref name="Class"/> (or an event happened).</summary>
public readonly record struct ModelDecision(long N, string Class, double Confidence, bool IsEvent);
