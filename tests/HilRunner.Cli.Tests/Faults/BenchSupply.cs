using System.Globalization;
using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Cli.Tests.Faults;

/// <summary>A bench supply on a pseudo-terminal: the common subset of SCPI-99, one line a message.</summary>
internal sealed class BenchSupply : ILinkReceiver, IDisposable
{
    private readonly PtyHost _host = PtyHost.Create(new HostClock(TimeProvider.System));
    private readonly StringBuilder _line = new();
    private readonly List<string> _heard = [];
    private readonly Queue<string> _errors = new();
    private double _volts, _amperes;
    private bool _on;

    public BenchSupply() => _host.Start(this);

    public string Path => _host.Path;

    public string Identity { get; init; } = "bench supply,model 1,0,1.0";
    /// <summary>What stands at its terminals while it is off.</summary>
    public double Residual { get; init; }
    /// <summary>What it draws once it is on.</summary>
    public double Draws { get; init; } = 0.02;
    /// <summary>What it makes of the voltage it is told.</summary>
    public Func<double, double> Takes { get; init; } = volts => volts;
    /// <summary>A command that it does not know.</summary>
    public string? Refuses { get; init; }
    /// <summary>Once it is on it stays on, whatever it is told.</summary>
    public bool IsStuck { get; init; }
    /// <summary>A question that it does not answer.</summary>
    public string? Mute { get; init; }

    /// <summary>Commands and questions, in order.</summary>
    public IReadOnlyList<string> Heard { get { lock (_heard) { return [.. _heard]; } } }
    public bool IsOn { get { lock (_heard) { return _on; } } }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        foreach (byte b in bytes)
        {
            if (b != '\n')
            {
                _line.Append((char)b);
                continue;
            }
            string line = _line.ToString();
            _line.Clear();
            if (Answer(line) is { } answer) { _host.Write(Encoding.ASCII.GetBytes(answer + "\n"), TimeSpan.FromSeconds(5)); }
        }
    }

    public void OnLost(LinkException cause, HostTime at) { }

    public void Dispose() => _host.Dispose();

    private string? Answer(string line)
    {
        lock (_heard)
        {
            _heard.Add(line);
            if (line == Mute) { return null; }
            string[] words = line.Split(' ');
            switch (words[0])
            {
                case "*IDN?": return Identity;
                case "SYST:ERR?": return _errors.TryDequeue(out string? error) ? error : "0,\"No error\"";
                case "OUTP?": return _on ? "1" : "0";
                case "VOLT?": return Text(_volts);
                case "CURR?": return Text(_amperes);
                case "MEAS:VOLT?": return Text(_on ? _volts : Residual);
                case "MEAS:CURR?": return Text(_on ? Draws : 0);
            }
            if (words[0] == Refuses) { _errors.Enqueue("-113,\"Undefined header\""); }
            else if (words[0] == "OUTP") { _on = words[1] == "ON" || (_on && IsStuck); }
            else if (words[0] == "VOLT") { _volts = Takes(double.Parse(words[1], CultureInfo.InvariantCulture)); }
            else if (words[0] == "CURR") { _amperes = double.Parse(words[1], CultureInfo.InvariantCulture); }
            return null;
        }
    }

    private static string Text(double value) => value.ToString("0.000E+00", CultureInfo.InvariantCulture);
}
