namespace HilRunner.Core.Signals.Synthesis;

/// <summary>Lying still.</summary>
public sealed record Rest : SynthSignal;
