namespace HilRunner.Core.Tests.Shakers;

/// <summary>An envelope as plain numbers: the gates under test may be of another assembly.</summary>
public sealed record Limits(double Displacement, double Velocity, double PeakG, double Jerk, double RampGPerS, double FromHz, double ToHz, double LongestS, double RestS);

public interface ISineGate
{
    string? Refuses(double hz, double g, double atS);
    (double Hz, double G) Now { get; }
}

public interface IStreamGate
{
    string? Refuses(long nm);
}

/// <summary>Makes the gates under test: the real ones, or ones compiled from their source with a slip in it.</summary>
public interface IGateMaker
{
    /// <summary>The envelope alone, as whole plans are held against it.</summary>
    string? Refuses(Limits limits, double hz, double g);
    ISineGate Sine(Limits limits, double atS);
    IStreamGate Stream(Limits limits, double rateHz);
}
