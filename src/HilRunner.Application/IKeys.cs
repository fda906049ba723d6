using HilRunner.Core.Time;

namespace HilRunner.Application;

/// <summary>A key and when it was pressed, in nanoseconds since the Unix epoch, as captures count.</summary>
/// <param name="Character">What it stands for; '\0': a key without a character.</param>
/// <param name="Name">As a message calls it.</param>
public readonly record struct KeyPress(HostTime At, char Character, string Name);

/// <summary>Keys as they come.</summary>
public interface IKeys
{
    /// <summary>The next one that was pressed; false: none is waiting.</summary>
    bool TryRead(out KeyPress key);
}
