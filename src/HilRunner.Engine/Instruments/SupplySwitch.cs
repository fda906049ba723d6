using System.Globalization;
using System.Text.RegularExpressions;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;

namespace HilRunner.Engine.Instruments;

/// <summary>
/// Switches a bench supply inside its envelope: what it is set to is read back before it is switched on, and what it measures after; outside, it is switched off again.
/// </summary>
public static class SupplySwitch
{
    private static readonly TimeSpan s_pattern = TimeSpan.FromSeconds(1);

    /// <summary>Asks who it is, sets it, reads it back, and only then switches it on.</summary>
    /// <exception cref="LinkException">It is another instrument, reports an error, does not answer, or is outside the envelope: then it is off.</exception>
    public static void On(Supply supply, ScpiSession session)
    {
        CheckIdentity(supply, session);
        session.Tell(string.Create(CultureInfo.InvariantCulture, $"VOLT {supply.Voltage}"));
        session.Tell(string.Create(CultureInfo.InvariantCulture, $"CURR {supply.Current}"));
        if (IsOff(session.Ask("OUTP?")) && Number(session, "MEAS:VOLT?") is var fed && fed > supply.Voltage / 2)
        {
            throw new LinkException(LinkFault.WrongKind, string.Create(CultureInfo.InvariantCulture,
                $"supply: {fed} V stand at its terminals while it is off: something else feeds the device; it was not switched on: "
                + $"take the cell out, or wait longer (off_for) until it has run empty"));
        }
        try
        {
            Check(supply, Number(session, "VOLT?"), Number(session, "CURR?"), "is set to");
            session.Tell("OUTP ON");
            // A meter's zero is not exact.
            double amperes = Number(session, "MEAS:CURR?"), zero = supply.Envelope.MostCurrent / 100;
            Check(supply, Number(session, "MEAS:VOLT?"), amperes < 0 && amperes > -zero ? 0 : amperes, "measures");
        }
        catch (LinkException fault)
        {
            // What it feeds is not known to be inside the envelope: not left on, if it still hears.
            string end = SwitchedOff(session) ? "it was switched off"
                : "it was told to switch off and does not say that it is off: see to it by hand";
            throw new LinkException(fault.Fault, $"{fault.Message}; {end}", fault);
        }
    }

    /// <exception cref="LinkException">It is another instrument, reports an error, or does not answer.</exception>
    public static void Off(Supply supply, ScpiSession session)
    {
        CheckIdentity(supply, session);
        session.Tell("OUTP OFF");
        if (!IsOff(session.Ask("OUTP?")))
        {
            throw new LinkException(LinkFault.WrongKind, "supply: it was switched off and says that it is on");
        }
    }

    private static void Check(Supply supply, double voltage, double current, string what)
    {
        if (supply.Envelope.Allows(voltage, current)) { return; }
        throw new LinkException(LinkFault.WrongKind, string.Create(CultureInfo.InvariantCulture,
            $"supply: it {what} {voltage} V, {current} A, outside its envelope ({supply.Envelope.LeastVoltage} V to "
            + $"{supply.Envelope.MostVoltage} V, at most {supply.Envelope.MostCurrent} A)"));
    }

    /// <summary>On the way out of a fault: tells it to switch off, whatever is wrong with it. True: it says that it is
    /// off.</summary>
    private static bool SwitchedOff(ScpiSession session)
    {
        session.TryTell("OUTP OFF");
        try { return IsOff(session.Ask("OUTP?")); }
        catch (LinkException) { return false; }
    }

    private static bool IsOff(string said) => said is "0" or "OFF" or "+0";

    private static void CheckIdentity(Supply supply, ScpiSession session)
    {
        string said = session.Ask("*IDN?");
        if (supply.Identity is { } expected && !Regex.IsMatch(said, expected, RegexOptions.None, s_pattern))
        {
            throw new LinkException(LinkFault.WrongKind, $"supply: it says it is {said}, expected {expected}; nothing was switched: is it the right instrument?");
        }
    }

    private static double Number(ScpiSession session, string question)
    {
        string said = session.Ask(question);
        return double.TryParse(said, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value) ? value
            : throw new LinkException(LinkFault.WrongKind, $"supply: {question} was answered by {said}; expected a number");
    }
}
