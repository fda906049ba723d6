namespace HilRunner.Core.Signals.Synthesis;

/// <summary>A direction along one of the device's axes.</summary>
/// <param name="Axis">x, y or z.</param>
/// <param name="Reversed">Against the axis.</param>
public readonly record struct Direction(char Axis, bool Reversed = false)
{
    public double Sign => Reversed ? -1 : 1;

    /// <summary>The channel of acceleration along it.</summary>
    public string Channel => $"a{Axis}";
    public override string ToString() => Reversed ? $"-{Axis}" : $"{Axis}";
    internal bool Exists => Axis is 'x' or 'y' or 'z';
}
