namespace HilRunner.Core.Signals.Transforms;

/// <summary>A turn about one of the axes, right-handed.</summary>
/// <param name="Axis">x, y or z.</param>
public sealed record Rotation(char Axis, double Degrees);
