using System.CommandLine;
using System.Text.Json;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Transport.Ports;

namespace HilRunner.Cli.Commands;

/// <summary>Lists serial ports with their USB identity; opens none.</summary>
internal static class PortsCommand
{
    public static Command Create()
    {
        var json = new Option<bool>("--json") { Description = "Print JSON." };
        var command = new Command(
            "ports",
            """
            Lists serial ports with their USB identity. Opens none of them.

            Example:
              hil ports
            """) { json };
        command.SetAction(parsed =>
        {
            var ports = new PortLister().List();
            if (parsed.GetValue(json)) { Terminal.Documents.WriteLine(JsonSerializer.Serialize(ports, s_json)); }
            else { Print(ports); }
            return ExitCodes.Pass;
        });
        return command;
    }

    private static readonly JsonSerializerOptions s_json =
        new(JsonSerializerDefaults.Web) { PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower, WriteIndented = true };

    private static void Print(IReadOnlyList<PortInfo> ports)
    {
        if (ports.Count == 0)
        {
            Console.Out.WriteLine("No serial ports. Is the board plugged in, and its cable one that carries data?");
            return;
        }
        var table = new ScreenTable();
        table.AddColumns("port", "in a rig file", "product", "serial");
        foreach (var port in ports)
        {
            table.AddRow(
                port.Path, port.Selector, port.Usb?.Product ?? port.Driver ?? "—",
                port.Usb?.Serial ?? "—");
        }
        Terminal.Write(table);
    }
}
