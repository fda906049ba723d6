using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Device.Shaking;

/// <summary>
/// A function generator in the words of SCPI-99 and IEEE 488.2, an amplifier of some gain behind it, and the table behind that. It knows nothing of the table: no guard, no limit switch, no watchdog. Several
/// messages a line, with ; between and : before each header; the answers of a line are joined by ;.
/// </summary>
public sealed class GeneratorController
{
    private const int MostErrors = 20;
    private readonly SimulatedTable _table;
    private readonly double _gPerVolt;
    private readonly LineServer _server;
    private readonly Queue<string> _errors = new();
    private double _hz = 1000, _volts;
    private bool _on;

    /// <param name="gPerVolt">What the amplifier makes of a volt, zero to peak.</param>
    public GeneratorController(SimulatedTable table, double gPerVolt, ILink link)
    {
        (_table, _gPerVolt) = (table, gPerVolt);
        _server = new(link, Heard);
    }

    public void Start() => _server.Start();

    private string? Heard(string line, HostTime at)
    {
        string[] answers = [.. line.Split(';', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries).Select(m => Answer(m.TrimStart(':'), at)).OfType<string>()];
        return answers.Length == 0 ? null : string.Join(';', answers);
    }

    private string? Answer(string message, HostTime at)
    {
        switch (message.ToUpperInvariant().Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            case ["*IDN?"]: return "simulated,function-generator,0,1.0.0";
            case ["*OPC?"]: return "1";
            case ["*CLS"]: _errors.Clear(); return null;
            case ["*RST"]: (_on, _volts) = (false, 0); Apply(at); return null;
            case ["OUTP" or "OUTPUT", "ON" or "1"]: _on = true; Apply(at); return null;
            case ["OUTP" or "OUTPUT", "OFF" or "0"]: _on = false; Apply(at); return null;
            case ["OUTP?" or "OUTPUT?"]: return _on ? "1" : "0";
            case ["SOUR:FUNC" or "SOURCE:FUNCTION", "SIN" or "SINUSOID"]: return null;
            case ["SOUR:FUNC?" or "SOURCE:FUNCTION?"]: return "SIN";
            case ["SOUR:FREQ" or "SOURCE:FREQUENCY", var hz]: Set(hz, 0.001, 1e6, out _hz, _hz); Apply(at); return null;
            case ["SOUR:FREQ?" or "SOURCE:FREQUENCY?"]: return Said(_hz);
            case ["SOUR:VOLT" or "SOURCE:VOLTAGE", var volts]: Set(volts, 0, 10, out _volts, _volts); Apply(at); return null;
            case ["SOUR:VOLT?" or "SOURCE:VOLTAGE?"]: return Said(_volts);
            case ["SYST:ERR?" or "SYSTEM:ERROR?"]: return _errors.TryDequeue(out string? error) ? error : "0,\"No error\"";
            // Number and words from memory of SCPI-99, volume 2, chapter 21.
            default: Fail("-113,\"Undefined header\""); return null;
        }
    }

    private void Apply(HostTime at)
    {
        double omega = 2 * Math.PI * _hz, mm = _volts * _gPerVolt * Gravity.Standard / (omega * omega) * 1000;
        if (!_on) { _table.Stop(at); }
        else if (_table.Move(_hz, mm, at) is not null && _table.Arm(at) is null) { _table.Move(_hz, mm, at); }
    }

    private void Set(string text, double least, double most, out double value, double before)
    {
        value = before;
        if (!double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double asked)) { Fail("-104,\"Data type error\""); }
        else if (!(asked >= least && asked <= most)) { Fail("-222,\"Data out of range\""); }
        else { value = asked; }
    }

    private void Fail(string error)
    {
        if (_errors.Count < MostErrors) { _errors.Enqueue(error); }
    }

    private static string Said(double value) => value.ToString("0.######E+0", CultureInfo.InvariantCulture);
}

/// <summary>A voltmeter on the table's reference accelerometer: MEAS:VOLT:AC? gives the rms of 0.1 V/g.</summary>
public sealed class ReferenceMeter
{
    private const double VoltsPerG = 0.1;
    private readonly LineServer _server;

    public ReferenceMeter(SimulatedTable table, ILink link) => _server = new(link, (line, at) => line.ToUpperInvariant() switch
    {
        "*IDN?" => "simulated,voltmeter,0,1.0.0",
        "MEAS:VOLT:AC?" or "MEASURE:VOLTAGE:AC?" => (table.Status(at).PeakG * VoltsPerG / Math.Sqrt(2)).ToString("0.######E+0", CultureInfo.InvariantCulture),
        _ => null,
    });

    public void Start() => _server.Start();
}
