using HilRunner.Core.Links;

namespace HilRunner.Core.Rigs;

/// <summary>What a step destroys, by what it takes to undo it. What nothing can undo (fuses, read-out protection) is no grade: it is never done.</summary>
public enum Erasure
{
    Nothing,
    /// <summary>Flashing again undoes it.</summary>
    Firmware,
    /// <summary>Settings, calibration, logs: undone only where a copy is kept.</summary>
    Data,
}

/// <summary>One step of preparing a rig, or of bringing it back.</summary>
public abstract record PrepareStep
{
    /// <summary>How often it is tried again after it failed.</summary>
    public int Retries { get; init; }
    /// <summary>After it: how long to wait, at most, for the rig's port to be there again; zero: not at all.</summary>
    public TimeSpan Port { get; init; }
    public virtual Erasure Erases => Erasure.Nothing;
}

/// <summary>Runs a program, without a shell.</summary>
/// <param name="Limit">It is ended, and the rig is at fault, after this long; each try of it.</param>
public sealed record ProgramStep(string Program, IReadOnlyList<string> Arguments, TimeSpan Limit) : PrepareStep
{
    /// <summary>As the rig file says; null: firmware where it is given {image}, else nothing.</summary>
    public Erasure? Stated { get; init; }

    public IEnumerable<string> Words => Arguments.Prepend(Program);

    public override Erasure Erases => Stated ?? (Words.Any(w => w.Contains("{image}", StringComparison.Ordinal)) ? Erasure.Firmware : Erasure.Nothing);
}

public enum SupplyAction { On, Off, Cycle }

/// <summary>Switches the rig's supply.</summary>
/// <param name="OffFor">Cycle: how long it stays off.</param>
public sealed record SupplyStep(SupplyAction Action, TimeSpan OffFor) : PrepareStep;

/// <summary>A bench supply that speaks the common subset of SCPI-99: OUTP, VOLT, CURR, MEAS, SYST:ERR?, *IDN?.</summary>
/// <param name="Voltage">Set before it is switched on, in volts.</param>
/// <param name="Current">Its limit, set likewise, in amperes.</param>
public sealed record Supply(LinkSpec Link, double Voltage, double Current, SupplyEnvelope Envelope)
{
    /// <summary>What *IDN? must answer, as a regular expression, so that no other instrument is switched; null: anything.</summary>
    public string? Identity { get; init; }
}

/// <summary>What the device may be fed with: volts from and to, amperes at most.</summary>
public sealed record SupplyEnvelope(double LeastVoltage, double MostVoltage, double MostCurrent)
{
    public bool Allows(double voltage, double current) => voltage >= LeastVoltage && voltage <= MostVoltage && current >= 0 && current <= MostCurrent;
}

/// <summary>How a rig is brought back that does not answer, lost its link, or spoiled a run: one rung after another, each followed by playing the run again.</summary>
public sealed record Recovery
{
    /// <summary>How often a run that the rig spoiled is played again without more ado. Default 1.</summary>
    public int Repeats { get; init; } = 1;
    public IReadOnlyList<PrepareStep> Reset { get; init; } = [];
    public IReadOnlyList<PrepareStep> PowerCycle { get; init; } = [];
    /// <summary>Whether the rig's prepare steps are the last rung.</summary>
    public bool Prepare { get; init; }
}
